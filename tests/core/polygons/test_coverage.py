from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from oracles import coverage_faults
from reliefsmith.polygons import noded_coverage, on_grid, shared_lengths

from .shapes import ZOO, colored, stars


@settings(max_examples=60)
@given(colored())
def test_noding_gives_a_valid_coverage_on_the_grid_that_keeps_every_area(areas):
    snapped = noded_coverage(areas)
    assert coverage_faults(snapped) == ()
    for before, after in zip(areas, snapped, strict=True):
        # A boundary moves by at most one grid step (half for rounding, half for a hot pixel).
        assert abs(before.area - after.area) <= 0.001 * before.length + 1e-6


@settings(max_examples=40)
@given(stars(), stars())
def test_where_two_cover_the_same_place_the_first_owns_it(first, second):
    mine, other = noded_coverage([first, second])
    assert mine.intersection(other).area == 0
    assert abs(mine.area - first.area) <= 0.001 * first.length + 1e-6
    assert abs(other.area - second.difference(first).area) <= 0.002 * (first.length + second.length)


@settings(max_examples=40)
@given(colored(), stars())
def test_an_outline_given_last_holds_the_areas_as_unions_of_its_faces(areas, outline):
    whole = shapely.union_all([*areas, outline])
    *motifs, rest = noded_coverage([*areas, whole])
    assert coverage_faults([*motifs, rest]) == ()
    base = shapely.coverage_union_all([*motifs, rest])
    for motif in motifs:
        assert motif.difference(base).area == 0


@pytest.mark.parametrize("name", list(ZOO))
def test_a_single_shape_of_the_zoo_comes_back_as_itself(name):
    (same,) = noded_coverage([ZOO[name]])
    assert same.equals(ZOO[name]) or (same.is_empty and ZOO[name].is_empty)
    assert on_grid(same)


def test_a_line_across_gives_the_neighbors_its_crossing_as_a_shared_vertex():
    left, right = shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)
    a, b = noded_coverage([left, right], [shapely.LineString([(0.5, 0.3), (1.5, 0.3)])])
    assert (1.0, 0.3) in a.geoms[0].exterior.coords
    assert (1.0, 0.3) in b.geoms[0].exterior.coords


def test_a_sliver_between_neighbors_is_closed():
    left, right = shapely.box(0, 0, 1, 10), shapely.Polygon([(1, 0), (3, 0), (3, 10), (1, 10), (1.003, 5)])
    a, b = noded_coverage([left, right])
    assert a.area + b.area == pytest.approx(30, abs=1e-9)


def test_faults_name_an_overlap_an_invalid_ring_and_a_point_off_the_grid():
    bow = shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])
    assert "not valid" in coverage_faults([bow])[0]
    assert "off the grid" in coverage_faults([shapely.box(0, 0, 0.00051, 1)])[0]
    assert "overlap" in coverage_faults([shapely.box(0, 0, 2, 2), shapely.box(1, 0, 3, 2)])[0]


def test_shared_lengths_of_four_quarters_are_the_two_cross_lines():
    quarters = [shapely.box(x, y, x + 2, y + 3) for x in (0, 2) for y in (0, 3)]
    assert shared_lengths(quarters).tolist() == [[0, 1, 2], [0, 2, 3], [1, 3, 3], [2, 3, 2]]


def test_shapes_that_do_not_touch_share_nothing():
    assert shared_lengths([shapely.box(0, 0, 1, 1), shapely.box(2, 0, 3, 1)]).shape == (0, 3)


def test_the_coverage_does_not_depend_on_the_order_of_points_in_rings():
    square, near = shapely.box(0, 0, 3, 3), shapely.box(3, 0, 5, 3)
    turned = shapely.Polygon(np.roll(np.array(square.exterior.coords)[:-1], 2, axis=0)[::-1])
    for one, two in zip(noded_coverage([square, near]), noded_coverage([turned, near]), strict=True):
        assert one.normalize() == two.normalize()
