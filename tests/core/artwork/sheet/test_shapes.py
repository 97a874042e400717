"""Quadrilaterals as arrays: areas by shapely, one order, only whole ones."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.artwork.sheet.shapes import areas_of, convex, ordered, without_twins

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])


@given(st.integers(0, 3), st.booleans())
def test_corners_come_in_one_order(turn, back) -> None:
    quad = np.roll(SQUARE[::-1] if back else SQUARE, turn, axis=0)
    assert np.array_equal(ordered(quad[None])[0], SQUARE)
    assert areas_of(ordered(quad[None])).tolist() == [1e4]


def test_only_whole_sheets_are_proposed_once() -> None:
    crossing = SQUARE[[0, 2, 1, 3]]
    small, outside = 0.1 * SQUARE, SQUARE + np.array([60.0, 0.0])
    assert convex(np.array([SQUARE, crossing, small, outside]), (120, 110)).tolist() == [
        True,
        False,
        False,
        False,
    ]
    assert len(without_twins(np.array([SQUARE, SQUARE + 1.0, SQUARE + 9.0]))) == 2


@settings(max_examples=20)
@given(st.lists(st.floats(-20, 20), min_size=8, max_size=8))
def test_the_area_is_that_of_shapely_with_the_sign_of_the_turn(shifts: list[float]) -> None:
    quad = SQUARE + np.reshape(shifts, (4, 2))
    assert float(areas_of(quad)) == pytest.approx(shapely.Polygon(quad).area)
    assert areas_of(np.stack([quad, quad[::-1]])) == pytest.approx(
        shapely.Polygon(quad).area * np.array([1, -1])
    )


@pytest.mark.parametrize(("side", "large"), [(22.4, True), (22.3, False)])
def test_a_sheet_covers_a_twentieth_of_the_picture_at_least(side: float, large: bool) -> None:
    """Of 100 x 100 px: 500 px2, a square of 22.36."""
    assert convex((SQUARE * side / 100)[None], (100, 100)).tolist() == [large]


@pytest.mark.parametrize(
    ("shift", "inside"), [((3.9, 0), True), ((4.1, 0), False), ((0, -3.9), True), ((0, -4.1), False)]
)
def test_a_corner_may_lie_four_pixels_outside(shift: tuple[float, float], inside: bool) -> None:
    assert convex((SQUARE + shift)[None], (100, 100)).tolist() == [inside]


@pytest.mark.parametrize(("lean", "good"), [(71, True), (74, False)])
def test_sides_that_hardly_turn_are_those_of_no_sheet(lean: float, good: bool) -> None:
    """The sine between neighbors of a rhomb that leans so far is .33 and .28."""
    angle = np.radians(lean)
    rhomb = np.array(
        [
            [0, 0],
            [200, 0],
            [200 + 200 * np.sin(angle), 200 * np.cos(angle)],
            [200 * np.sin(angle), 200 * np.cos(angle)],
        ]
    )
    assert convex(rhomb[None], (420, 200)).tolist() == [good]
    assert convex(rhomb[None, ::-1], (420, 200)).tolist() == [False]


def test_twins_are_told_by_every_corner_and_the_first_stays() -> None:
    one = SQUARE.copy()
    one[2] += 2.6
    quads = np.array([SQUARE, SQUARE + 2.4, one, SQUARE - 2.4])
    assert without_twins(quads) == pytest.approx(np.array([SQUARE, one]))
    assert without_twins(np.empty((0, 4, 2))).shape == (0, 4, 2)
