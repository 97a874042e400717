"""Arcs of a coverage: each boundary once, and every ring put together from them again."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.arcs import Arcs, shared_arcs
from reliefsmith.polygons import noded_coverage


def coverage(*shapes: shapely.Geometry) -> list[shapely.MultiPolygon]:
    return list(noded_coverage(shapes))


def rings_of(arcs: Arcs, area: int) -> list[np.ndarray]:
    """Return the closed rings of an area, put together from its arcs."""
    found = []
    for ring in arcs.rings[area]:
        runs = [arcs.points[arc][::-1] if backward else arcs.points[arc] for arc, backward in ring]
        assert all((one[-1] == other[0]).all() for one, other in zip(runs, [*runs[1:], runs[0]], strict=True))
        found.append(np.concatenate([run[:-1] for run in runs] + [runs[0][:1]]))
    return found


def squares(seed: int) -> list[shapely.MultiPolygon]:
    random = np.random.default_rng(seed)
    corners = random.integers(0, 8, (4, 2))
    return coverage(*(shapely.box(x, y, x + 4, y + 3) for x, y in corners.tolist()))


@settings(max_examples=10)
@given(st.integers(0, 2**32 - 1))
def test_the_rings_of_every_area_come_back_shells_one_way_and_holes_the_other(seed: int) -> None:
    areas = squares(seed)
    arcs = shared_arcs(areas)
    for index, area in enumerate(areas):
        rings = rings_of(arcs, index)
        turned = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(area)))
        assert len(rings) == len(turned)
        for ring, wanted in zip(rings, turned, strict=True):
            assert shapely.is_ccw(shapely.LinearRing(ring)) == shapely.is_ccw(wanted)
            assert shapely.LinearRing(ring).equals(wanted)


@settings(max_examples=10)
@given(st.integers(0, 2**32 - 1))
def test_each_stretch_of_boundary_is_in_one_arc_and_used_once_or_twice(seed: int) -> None:
    """The lengths of all arcs are that of all boundaries united; by shapely."""
    areas = squares(seed)
    arcs = shared_arcs(areas)
    lines = [shapely.LineString(points) for points in arcs.points]
    length = np.array([line.length for line in lines])
    assert length.sum() == pytest.approx(shapely.union_all(shapely.boundary(areas)).length)
    uses = np.bincount([arc for area in arcs.rings for ring in area for arc, _ in ring], minlength=len(lines))
    assert set(uses.tolist()) <= {1, 2}
    assert length[uses == 1].sum() == pytest.approx(shapely.union_all(areas).boundary.length)


def test_arcs_meet_where_more_than_two_boundaries_do() -> None:
    """Two squares side by side: three arcs between two meetings; the shared one is used both ways."""
    arcs = shared_arcs(coverage(shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)))
    ends = {tuple(points[end]) for points in arcs.points for end in (0, -1)}
    assert ends == {(1, 0), (1, 1)}
    shared = [ring for area in arcs.rings for ring in area[0] if ring[0] == _between(arcs)]
    assert sorted(backward for _, backward in shared) == [False, True]


def _between(arcs: Arcs) -> int:
    return next(k for k, points in enumerate(arcs.points) if len(points) == 2)


def test_an_arc_runs_from_its_smaller_end_whichever_area_it_is_found_in_first() -> None:
    pair = coverage(shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1))
    one, other = ({points.tobytes() for points in shared_arcs(areas).points} for areas in (pair, pair[::-1]))
    assert one == other
    assert all(tuple(points[0]) < tuple(points[-1]) for points in shared_arcs(pair).points)


def test_a_ring_without_a_meeting_is_one_closed_arc_from_its_smallest_point() -> None:
    hole = shapely.Polygon([(2, 2), (4, 2.5), (4, 4), (2.5, 4)])
    arcs = shared_arcs(coverage(shapely.box(0, 0, 6, 6) - hole, hole))
    assert len(arcs.points) == 2
    for points in arcs.points:
        assert (points[0] == points[-1]).all()
        assert tuple(points[0]) == min(map(tuple, points.tolist()))
    inner, outer = sorted(arcs.points, key=len, reverse=True)[0], arcs.rings[1][0]
    assert len(inner) == 5
    assert [len(rings) for rings in arcs.rings] == [2, 1]
    assert {backward for _, backward in (arcs.rings[0][1][0], outer[0])} == {False, True}


def test_touching_corners_are_a_meeting_and_empty_areas_have_no_ring() -> None:
    """Four edges meet where two squares touch; an area may have lost all of its own."""
    arcs = shared_arcs([*coverage(shapely.box(0, 0, 1, 1), shapely.box(1, 1, 2, 2)), shapely.MultiPolygon()])
    assert [tuple(points[0]) for points in arcs.points] == [(1, 1), (1, 1)]
    assert [len(rings) for rings in arcs.rings] == [1, 1, 0]
