"""Ground that the art encloses: specks at edges go, areas show, and the user has the last word."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.groundlike import enclosed_ground, with_pale_areas, without_ground_specks
from reliefsmith.color.mixing import Mixing


def ringed(hole: slice = slice(8, 12)) -> np.ndarray:
    """Ground all round, a square of art in it, and an opening."""
    labels = np.zeros((20, 20), np.uint8)
    labels[4:16, 4:16] = 1
    labels[hole, hole] = 0
    return labels


def test_an_opening_shows_and_the_ground_outside_does_not() -> None:
    labels = ringed()
    at = enclosed_ground(labels, "auto")
    assert (labels == ringed()).all()
    found = np.zeros(400, bool)
    found[at] = True
    expected = np.zeros((20, 20), bool)
    expected[8:12, 8:12] = True
    assert (found.reshape(20, 20) == expected).all()


@pytest.mark.parametrize(("mode", "count"), [("auto", 16), ("keep", 16), ("remove", 0)])
def test_the_user_may_take_openings_away(mode: str, count: int) -> None:
    assert len(enclosed_ground(ringed(), mode)) == count


@pytest.mark.parametrize(("mode", "count"), [("auto", 0), ("keep", 16), ("remove", 0)])
def test_ground_that_reaches_no_side_was_picked_and_is_kept_only_if_asked(mode: str, count: int) -> None:
    labels = np.ones((20, 20), np.uint8)
    labels[8:12, 8:12] = 0
    assert len(enclosed_ground(labels, mode)) == count


@pytest.mark.parametrize(("side", "filled"), [(2, True), (3, False)])
def test_a_speck_that_meets_the_ground_at_a_corner_is_filled(side: int, filled: bool) -> None:
    labels = np.zeros((20, 20), np.uint8)
    labels[4:16, 4:16] = 1
    labels[4 : 4 + side, 4 : 4 + side] = 0
    labels[3, 4:16] = labels[4:16, 3] = 1  # walls; the corner (3, 3) is ground and touches the speck
    out = without_ground_specks(labels)
    at = enclosed_ground(out, "auto")
    assert (out[4 : 4 + side, 4 : 4 + side] == (1 if filled else 0)).all()
    assert len(at) == (0 if filled else side * side)


def test_a_small_opening_amid_the_art_is_no_speck() -> None:
    labels = without_ground_specks(ringed(slice(9, 11)))
    at = enclosed_ground(labels, "auto")
    assert (labels[9:11, 9:11] == 0).all()
    assert len(at) == 4


WHITE, CREAM, RED = (255.0, 255.0, 255.0), (255.0, 253.0, 246.0), (200.0, 30.0, 40.0)


def planes(color: tuple[float, ...]) -> Mixing:
    """Enclosed ground shows a color, with a fifth of its pixels black."""
    picture = np.full((20, 20, 3), 255, np.uint8)
    picture[8:12, 8:12] = color
    picture[8, 8:11] = 0
    return Mixing(tuple(np.ascontiguousarray(picture[..., channel]) for channel in range(3)), None)


@pytest.mark.parametrize(("seen", "label"), [(CREAM, 2), (WHITE, 0), ((255, 254, 249), 2)])
def test_enclosed_ground_goes_to_a_like_color_that_its_middle_is_nearer_to(
    seen: tuple[float, ...], label: int
) -> None:
    out = with_pale_areas(ringed(), np.array([WHITE, RED, CREAM]), planes(seen))
    assert (out[8:12, 8:12] == label).all()
    out[8:12, 8:12] = 0
    assert (out == ringed()).all()


def test_a_color_unlike_the_ground_takes_no_enclosed_ground() -> None:
    out = with_pale_areas(ringed(), np.array([WHITE, RED]), planes(RED))
    assert (out == ringed()).all()
