from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.polygons import from_grid, on_grid, snapped, to_grid


@given(st.lists(st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)), min_size=1, max_size=20))
def test_snapping_moves_no_coordinate_by_more_than_half_a_step_and_once_is_enough(points):
    moved = snapped(points)
    assert np.abs(moved - np.array(points)).max() <= 0.0005 + 1e-9
    assert np.array_equal(snapped(moved), moved)


def test_whole_steps_survive_the_way_to_millimetres_and_back():
    steps = np.column_stack([np.arange(-5000, 5000), np.arange(10000) * 199])
    assert np.array_equal(to_grid(from_grid(steps)), steps)


def test_a_point_half_a_step_off_is_off_the_grid():
    assert on_grid(shapely.box(0, 0, 0.007, 1))
    assert not on_grid(shapely.box(0, 0, 0.0071, 1))
