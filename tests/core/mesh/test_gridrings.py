from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import rings_of
from reliefsmith.mesh.gridrings import doubled_areas, found_in

from .samples import APART, box_with_holes


def test_exteriors_turn_left_and_openings_right() -> None:
    rings = rings_of(shapely.reverse(box_with_holes(2)))
    areas = doubled_areas(rings)
    assert areas[0] > 0
    assert (areas[1:] < 0).all()


@pytest.mark.parametrize("name", APART)
def test_ring_areas_sum_up_to_the_shape(name: str) -> None:
    assert doubled_areas(rings_of(APART[name])).sum() == round(2e6 * APART[name].area)


def test_a_shape_without_rings_has_no_areas() -> None:
    assert doubled_areas(rings_of(shapely.MultiPolygon())).tolist() == []


def test_following_points_close_every_ring() -> None:
    rings = rings_of(box_with_holes(1))
    assert rings.following.tolist() == [1, 2, 3, 0, 5, 6, 7, 4]


def test_repeated_points_count_once() -> None:
    assert len(rings_of(shapely.Polygon([(0, 0), (1, 0), (1, 0), (1, 1), (0, 0)])).points) == 3


def test_points_off_the_grid_are_refused() -> None:
    with pytest.raises(GeometryError, match="grid"):
        rings_of(shapely.box(0, 0, 1, 0.00051))


_WHOLE = st.integers(-(2**31), 2**31 - 1) | st.sampled_from([0, 1, -1, 2**16, 2**16 - 1, -(2**16), 2**31 - 1])


@given(st.lists(st.tuples(_WHOLE, _WHOLE), max_size=12), st.lists(st.tuples(_WHOLE, _WHOLE), max_size=12))
def test_points_are_found_by_both_coordinates_up_to_two_kilometres(known, others) -> None:
    table = list(dict.fromkeys(known))
    wanted = [*table[::-1], *others]
    found = found_in(np.array(wanted, np.int64).reshape(-1, 2), np.array(table, np.int64).reshape(-1, 2))
    assert found.tolist() == [table.index(point) if point in table else -1 for point in wanted]


def test_points_65_mm_apart_are_not_the_same() -> None:
    """2^16 grid steps: a key of 16 bits a coordinate would take one for the other."""
    assert found_in(np.array([[0, 2**16]]), np.array([[1, 0]])).tolist() == [-1]
