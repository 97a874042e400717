"""A handle: its plate is the piece's hull seen from behind, its grip lies along the longer side."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from reliefsmith.errors import GeometryError
from reliefsmith.recipe.sections import HandleSettings, HeightSettings
from reliefsmith.solid.grip import MOST_LONG, grip_of
from reliefsmith.solid.grip import _grip as _bar
from sound import assert_closed

from .plans import PRINTER, plan_of

HANDLE = HandleSettings(kind="grip", height_mm=25.0, thick_mm=14.0, plate_mm=3.0)


def _grip(shape: shapely.Geometry, handle: HandleSettings = HANDLE):
    return grip_of(plan_of(shape), handle, HeightSettings(), PRINTER)


def test_the_plate_is_the_hull_mirrored_and_the_grip_stands_on_it() -> None:
    hook = shapely.union(shapely.box(0, 0, 60, 20), shapely.box(0, 0, 20, 40))
    made = _grip(hook)
    low, high = made.stack.slabs
    assert low.polygon.equals(affinity.scale(hook.convex_hull, -1, 1, origin=(0, 0)))
    assert (low.bottom_mm, low.top, high.bottom_mm, high.top) == (0.0, 3.0, 3.0, 28.0)
    assert low.polygon.covers(high.polygon)
    for part in made.parts:
        assert_closed(part)


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0])
def test_the_grip_lies_along_the_longer_side_and_is_no_longer_than_a_hand_needs(turn: float) -> None:
    made = _grip(affinity.rotate(shapely.box(-60, -15, 60, 15), turn, origin=(0, 0)))
    grip = made.stack.slabs[-1].polygon
    straight = affinity.rotate(grip, turn, origin=(0, 0))  # the plate is seen from behind
    x0, y0, x1, y1 = straight.bounds
    assert x1 - x0 == pytest.approx(MOST_LONG * 14.0, abs=1.0)
    assert y1 - y0 == pytest.approx(14.0, abs=0.1)


def test_a_round_piece_has_a_round_grip_and_a_small_one_none() -> None:
    x0, y0, x1, y1 = _grip(shapely.Point(0, 0).buffer(7.3, quad_segs=32)).stack.slabs[-1].polygon.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((14.0, 14.0), abs=1.0)
    with pytest.raises(GeometryError, match=r"too small for a grip 14 mm thick; lower handle\.thick_mm"):
        _grip(shapely.box(0, 0, 60, 13))


def test_a_grip_lies_along_the_longer_side_over_the_widest_place() -> None:
    plate = shapely.affinity.rotate(shapely.affinity.scale(shapely.Point(0, 0).buffer(10), 4, 1), 30)
    grip = _bar(plate, 8.0)
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(grip))
    sides = np.diff(corners[:3], axis=0)
    long = sides[int(np.argmax(np.hypot(*sides.T)))]
    assert np.hypot(*sides.T).max() == pytest.approx(MOST_LONG * 8.0, abs=0.1)
    assert np.degrees(np.arctan2(*long[::-1])) % 180 == pytest.approx(30, abs=1)
    assert shapely.covers(plate, grip)


def test_a_grip_is_as_short_as_the_plate_needs_down_to_a_disc() -> None:
    short = _bar(shapely.Point(0, 0).buffer(9), 8.0)
    assert short.bounds[2] - short.bounds[0] == pytest.approx(17.0, abs=1.1)
    disc = _bar(shapely.Point(0, 0).buffer(4.11), 8.0)
    assert disc.area == pytest.approx(16 * math.pi, rel=0.02)


def test_a_piece_thinner_than_its_grip_is_refused() -> None:
    with pytest.raises(GeometryError, match="too small for a grip 8 mm thick"):
        _bar(shapely.box(-40, -3.9, 40, 3.9), 8.0)
