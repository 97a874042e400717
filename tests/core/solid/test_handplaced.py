"""Hand relief in the artwork's frame: a picture drawn over the artwork's own, and how fine it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.errors import RecipeError
from reliefsmith.model import FlatAreas, Frame, HandPicture, HandRelief
from reliefsmith.polygons import as_multi
from reliefsmith.solid.handplaced import FINEST_MM, _reduced, handed

FRAME = Frame(0.5, (40.0, 30.0), 0.0, (80, 60))
AREAS = FlatAreas((as_multi(shapely.box(-20, -15, 20, 15)),), np.zeros((1, 3), np.uint8), FRAME, (40.0, 30.0))


def field(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Heights that depend on the place in mm, x right and y up."""
    return (0.01 * x + 0.02 * y).astype(np.float32)


def drawn(per_px: float, frame: Frame = FRAME) -> HandPicture:
    """The field as a picture over the artwork's own, so many values a pixel."""
    wide, high = (round(side * per_px) for side in frame.image_px)
    column, row = np.meshgrid((np.arange(wide) + 0.5) / per_px, (np.arange(high) + 0.5) / per_px)
    turn = np.radians(frame.turn_deg)
    right, down = column - frame.origin_px[0], row - frame.origin_px[1]
    x = (np.cos(turn) * right + np.sin(turn) * down) * frame.mm_per_px
    y = (np.sin(turn) * right - np.cos(turn) * down) * frame.mm_per_px
    return HandPicture(field(x, y))


PLACES = np.array([(0.0, 0.0), (7.0, 3.0), (-9.3, 7.1), (9.0, -8.0)])


@pytest.mark.parametrize("turn", [0.0, 20.0, -35.0])
@pytest.mark.parametrize("per_px", [0.5, 1.0, 2.0])
def test_a_picture_over_the_artworks_own_lies_where_that_lies(turn: float, per_px: float) -> None:
    frame = replace(FRAME, turn_deg=turn)
    found = handed(replace(AREAS, frame=frame), drawn(per_px, frame))
    assert found is not None
    assert found.at(PLACES, 40.0) == pytest.approx(field(*PLACES.T), abs=0.002)


def test_a_relief_with_a_frame_of_its_own_stays_there() -> None:
    values = np.full((3, 4), 0.5, np.float32)
    found = handed(AREAS, HandPicture(values, (-0.1, 0.1), 0.05))
    assert found == HandRelief(values, (-0.1, 0.1), 0.05)
    assert handed(AREAS, None) is None


def test_a_picture_of_another_shape_is_refused() -> None:
    assert handed(AREAS, HandPicture(np.zeros((61, 80), np.float32))) is not None  # rounded, by a row
    with pytest.raises(RecipeError, match="80 x 40 and the artwork's picture 80 x 60"):
        handed(AREAS, HandPicture(np.zeros((40, 80), np.float32)))


@pytest.mark.parametrize(("step_mm", "factor"), [(0.05, 1), (0.026, 1), (0.025, 2), (0.0125, 4), (0.3, 1)])
def test_values_closer_than_a_twentieth_of_a_millimetre_are_averaged(step_mm: float, factor: int) -> None:
    values = np.zeros((16, 16), np.float32)
    found = handed(AREAS, HandPicture(values, (0.0, 0.0), step_mm / 40.0))
    assert found is not None
    assert found.values.shape == (16 // factor, 16 // factor)
    assert found.step * 40.0 == pytest.approx(step_mm * factor)
    assert found.step * 40.0 >= 0.5 * FINEST_MM


def test_means_lie_in_the_middle_of_their_squares() -> None:
    values = np.arange(24, dtype=np.float32).reshape(4, 6)
    values[0, 0] = np.nan
    found = _reduced(HandRelief(values, (0.1, 0.2), 0.01), 2)
    assert found.values.tolist() == [[pytest.approx((1 + 6 + 7) / 3), 5.5, 7.5], [15.5, 17.5, 19.5]]
    assert found.origin == pytest.approx((0.105, 0.195))
    assert found.step == 0.02
    few = HandRelief(values[:1], (0.1, 0.2), 0.01)
    assert _reduced(few, 2) is few
    assert _reduced(HandRelief(values[:, :5], (0, 0), 0.01), 2).values.shape == (2, 2)
    assert np.isnan(_reduced(HandRelief(np.full((2, 2), np.nan, np.float32), (0, 0), 0.01), 2).values).all()
