"""Level shapes: where a bar fits, where two things lie on one level, bars with round ends."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.plan.hang.level import capsule, level_pair, shrunk_level

STEPPED = shapely.union(shapely.box(0, 0, 10, 2), shapely.box(3, 2, 6, 5))


@settings(max_examples=25)
@given(st.integers(3, 12), st.floats(0.2, 3.0), st.floats(0, 6.2))
def test_a_bar_in_what_is_left_of_a_shape_stays_inside_it(corners, half, turn):
    points = [
        (
            8 * math.cos(turn + 6.2832 * k / corners) * (1 + 0.5 * (k % 2)),
            8 * math.sin(turn + 6.2832 * k / corners),
        )
        for k in range(corners)
    ]
    shape = shapely.Polygon(points).buffer(0)
    left = shrunk_level(shape, half)
    for x, y in shapely.get_coordinates(left):
        bar = shapely.LineString([(x - half, y), (x + half, y)])
        assert bar.difference(shape.buffer(1e-6)).length < 1e-4
    wide = level_pair(shape, 1.0)
    assert wide.symmetric_difference(shapely.affinity.scale(wide, -1, 1, origin=(1.0, 0))).area < 1e-6


def test_on_each_level_a_shape_loses_half_the_bar_at_both_ends() -> None:
    """The lower step is 10 mm wide, the upper 3; a bar of 4 mm finds no place on the upper one."""
    assert shrunk_level(STEPPED, 1.0).equals(shapely.union(shapely.box(1, 0, 9, 2), shapely.box(4, 2, 5, 5)))
    left = shrunk_level(STEPPED, 2.0)
    assert left.bounds == (2.0, 0.0, 8.0, 2.0)
    assert left.area == pytest.approx(12.0)


def test_beside_an_opening_a_bar_keeps_off_by_half_its_length() -> None:
    plate = shapely.box(-10, -5, 10, 5).difference(shapely.box(-1, -1, 1, 1))
    left = shrunk_level(plate, 2.0)
    assert left.area == pytest.approx(16 * 10 - 6 * 2)
    assert not left.intersects(shapely.Point(2.9, 0))
    assert left.intersects(shapely.Point(0, 1.1))


@settings(max_examples=25)
@given(st.floats(-9, 9), st.floats(-4.4, 4.4), st.floats(0.2, 3.0))
def test_where_a_bar_fits_nothing_is_taken_away(x: float, y: float, half: float) -> None:
    plate = shapely.Point(0, 0).buffer(9).difference(shapely.box(-2, -1, 3, 1.5))
    bar = shapely.LineString([(x - half, y), (x + half, y)])
    if shapely.contains(plate, bar):
        assert shapely.dwithin(shrunk_level(plate, half), shapely.Point(x, y), 1e-9)


def test_without_a_length_all_of_a_shape_is_left() -> None:
    assert shrunk_level(STEPPED, 0.0) is STEPPED
    assert shrunk_level(shapely.Polygon(), 2.0).is_empty


def test_a_pair_needs_the_shape_on_both_sides() -> None:
    two = shapely.union(shapely.box(-9, 0, -5, 4), shapely.box(3, 1, 8, 9))
    assert level_pair(two, 0.0).equals(shapely.union(shapely.box(-8, 1, -5, 4), shapely.box(5, 1, 8, 4)))
    assert level_pair(two, 20.0).is_empty


@pytest.mark.parametrize(("stretch", "radius"), [(0.0, 2.5), (4.0, 1.5)])
def test_a_capsule_is_a_disc_drawn_out_level(stretch: float, radius: float) -> None:
    made = capsule((3.0, -2.0), stretch, radius, 64)
    assert made.area == pytest.approx(math.pi * radius**2 + 4 * stretch * radius, rel=1e-3)
    reach = np.array([stretch + radius, radius])
    assert made.bounds == pytest.approx((*(np.array([3, -2]) - reach), *(np.array([3, -2]) + reach)))
