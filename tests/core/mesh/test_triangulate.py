from __future__ import annotations

import sys

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import rings_of, triangulate
from reliefsmith.mesh.delaunay import improved
from reliefsmith.mesh.dropped import with_dropped
from reliefsmith.mesh.gridrings import doubled_areas
from reliefsmith.mesh.triangulate import (
    _constrained_delaunay,
    _ear_clipped,
    _triangulated,
    doubled_triangle_areas,
)

from .samples import APART, plates, round_plate


@pytest.fixture(autouse=True)
def _nothing_remembered() -> None:
    """Every test triangulates for itself."""
    _triangulated.cache_clear()


def _assert_faithful(shape: shapely.Geometry) -> None:
    rings = rings_of(shape)
    triangles = triangulate(rings)
    areas = doubled_triangle_areas(rings.points, triangles)
    holes = len(rings.ring_starts) - len(rings.polygon_starts)
    pieces = len(rings.polygon_starts) - 1
    assert len(triangles) == len(rings.points) + 2 * holes - 2 * pieces
    assert (areas > 0).all()
    assert areas.sum() == doubled_areas(rings).sum()
    _assert_edges_meet(rings, triangles)


def _assert_edges_meet(rings, triangles) -> None:
    """Each ring edge is the edge of one triangle, every other edge belongs to two."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    here = np.arange(len(rings.points))
    outside = np.column_stack([rings.following, here])
    both = np.concatenate([edges, outside])
    forward = np.unique(both, axis=0)
    assert len(forward) == len(both)
    np.testing.assert_array_equal(forward, np.unique(both[:, ::-1], axis=0))


@pytest.mark.parametrize("name", APART)
def test_triangles_use_every_vertex_and_fill_the_area_exactly(name: str) -> None:
    _assert_faithful(APART[name])


@given(plates())
@settings(max_examples=60)
def test_random_plates_are_filled_exactly(plate: shapely.Polygon) -> None:
    _assert_faithful(plate)


def test_many_openings_in_rows_are_filled_exactly() -> None:
    # Rows of equal openings make the fast engine drop vertices of their bridges.
    _assert_faithful(round_plate(2000, holes=100, hole_points=12))


def test_a_thousand_islands_are_filled_exactly() -> None:
    islands = [shapely.box(x, y, x + 0.7, y + 0.7) for x in range(40) for y in range(25)]
    _assert_faithful(shapely.MultiPolygon(islands))


@pytest.mark.parametrize("name", APART)
def test_the_second_engine_alone_is_faithful_too(name: str) -> None:
    for piece in shapely.get_parts(APART[name]):
        rings = rings_of(piece)
        triangles = _constrained_delaunay(rings.points, rings.ring_starts)
        areas = doubled_triangle_areas(rings.points, triangles)
        assert (areas > 0).all()
        assert areas.sum() == doubled_areas(rings).sum()
        assert len(triangles) == len(rings.points) + 2 * (len(rings.ring_starts) - 2) - 2


def test_a_polygon_that_no_engine_fills_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    module = sys.modules[triangulate.__module__]
    nothing = np.empty((0, 3), dtype=np.int64)
    monkeypatch.setattr(module, "_ear_clipped", lambda *_: nothing)
    monkeypatch.setattr(module, "_constrained_delaunay", lambda *_: nothing)
    with pytest.raises(GeometryError, match="cannot be triangulated"):
        triangulate(rings_of(shapely.box(0, 0, 1, 1)))


def test_triangles_of_the_right_count_over_another_area_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four triangles, as an L has, all turning left; but they lie on each other in one arm."""
    module = sys.modules[triangulate.__module__]
    arms = shapely.Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)])
    rings = rings_of(arms)
    pile = np.repeat(_constrained_delaunay(rings.points, rings.ring_starts)[:1], 4, axis=0)
    monkeypatch.setattr(module, "_ear_clipped", lambda *_: np.empty((0, 3), dtype=np.int64))
    monkeypatch.setattr(module, "_constrained_delaunay", lambda *_: pile)
    with pytest.raises(GeometryError, match="the area is wrong"):
        triangulate(rings)


def test_a_triangle_with_a_point_of_its_own_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second engine takes only given points; with another one its answer counts for nothing."""
    rings = rings_of(shapely.Polygon([(0, 0), (4, 0), (0, 4)]))
    strange = shapely.GeometryCollection([shapely.Polygon([(0, 0), (4, 0), (1, 3.5)])])
    monkeypatch.setattr(shapely, "constrained_delaunay_triangles", lambda _: strange)
    assert len(_constrained_delaunay(rings.points, rings.ring_starts)) == 0


def test_a_failing_first_engine_is_replaced_by_the_second(monkeypatch: pytest.MonkeyPatch) -> None:
    module = sys.modules[triangulate.__module__]
    monkeypatch.setattr(module, "_ear_clipped", lambda *_: np.empty((0, 3), dtype=np.int64))
    _assert_faithful(APART["three openings"])


def test_empty_shapes_have_no_triangles() -> None:
    assert triangulate(rings_of(shapely.MultiPolygon())).shape == (0, 3)


def test_dropped_vertices_on_both_sides_of_a_line_are_put_back() -> None:
    # Two triangles share the line from 0 to 2, each side's outline has its own middle vertex dropped.
    points = np.array([[0, 0], [4, 0], [4, 4], [0, 4], [2, 0]])
    following = np.array([4, 2, 3, 0, 1])
    mended = with_dropped(points, following, np.array([[0, 1, 2], [0, 2, 3]]))
    assert sorted(map(sorted, mended.tolist())) == [[0, 2, 3], [0, 2, 4], [1, 2, 4]]
    assert (doubled_triangle_areas(points, mended) > 0).all()


def test_rows_of_flat_triangles_unfold() -> None:
    points = np.array([[0, 0], [1, 0], [2, 0], [3, 0], [1, 5]])
    flat = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4]])
    unfolded = improved(points, flat)
    areas = doubled_triangle_areas(points, unfolded)
    assert (areas > 0).all()
    assert areas.sum() == doubled_triangle_areas(points, flat).sum() == 15


def test_the_fast_engine_serves_where_it_can() -> None:
    rings = rings_of(round_plate(3000, holes=36, hole_points=16))
    found = _ear_clipped(rings.points, rings.ring_starts)
    assert len(found) == len(rings.points) + 2 * 36 - 2


def test_the_same_rings_are_triangulated_once_and_the_triangles_cannot_be_spoiled() -> None:
    rings = rings_of(round_plate(300, holes=4, hole_points=16))
    first = triangulate(rings)
    with pytest.raises(ValueError, match="read-only"):
        first[0] = 0
    again = triangulate(rings_of(round_plate(300, holes=4, hole_points=16)))
    assert again is first
    assert _triangulated.cache_info().misses == 1
    triangulate(rings_of(round_plate(300, holes=3, hole_points=16)))
    assert _triangulated.cache_info().misses == 2
