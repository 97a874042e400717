from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import rings_of, triangulate
from reliefsmith.mesh.gridrings import doubled_areas
from reliefsmith.mesh.triangulate import _triangulated, doubled_triangle_areas
from reliefsmith.polygons import noded_coverage

from .samples import APART, TOUCHING, mosaics, plates, round_plate


@pytest.fixture(autouse=True)
def _nothing_remembered() -> None:
    """Every test triangulates for itself."""
    _triangulated.cache_clear()


def _assert_faithful(shape: shapely.Geometry) -> None:
    rings = rings_of(shape)
    triangles = triangulate(rings)
    areas = doubled_triangle_areas(rings.points, triangles)
    assert triangles.dtype == np.int32
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


@given(
    st.lists(st.lists(st.integers(1, 19), unique=True, max_size=5), min_size=4, max_size=4),
    st.sampled_from([(20, 0), (19, 7), (-3, 11)]),
)
def test_vertices_by_lot_along_the_sides_of_a_square_are_all_used(
    sides: list[list[int]], across: tuple[int, int]
) -> None:
    """Level and slanting: each vertex lies exactly on the line, a whole share of 20 along its side."""
    dx, dy = across
    corners = np.array([(0, 0), (dx, dy), (dx - dy, dx + dy), (-dy, dx)]) * 20
    steps = np.roll(corners, -1, axis=0) - corners
    ring = [
        corners[k] + steps[k] * along // 20 for k, extra in enumerate(sides) for along in (0, *sorted(extra))
    ]
    _assert_faithful(shapely.Polygon(np.array(ring) / 1000))


def test_many_openings_in_rows_are_filled_exactly() -> None:
    _assert_faithful(round_plate(2000, holes=100, hole_points=12))


def test_a_thousand_islands_are_filled_exactly() -> None:
    islands = [shapely.box(x, y, x + 0.7, y + 0.7) for x in range(40) for y in range(25)]
    _assert_faithful(shapely.MultiPolygon(islands))


def _assert_filled_in_place(shape: shapely.Geometry) -> None:
    """As the solids need it: with equal points as one, a ring edge is that of one triangle, others of two."""
    rings = rings_of(shape)
    triangles = triangulate(rings)
    areas = doubled_triangle_areas(rings.points, triangles)
    assert (areas > 0).all()
    assert areas.sum() == doubled_areas(rings).sum()
    _, place = np.unique(rings.points, axis=0, return_inverse=True)
    corners = place.reshape(-1)[triangles]
    sides = np.concatenate([corners[:, [k, (k + 1) % 3]] for k in range(3)])
    outside = np.column_stack([place.reshape(-1)[rings.following], place.reshape(-1)])
    both = np.concatenate([sides, outside])
    forward = np.unique(both, axis=0)
    assert len(forward) == len(both)
    np.testing.assert_array_equal(forward, np.unique(both[:, ::-1], axis=0))


@pytest.mark.parametrize("name", ["two corners", "two openings", "checkerboard"])
def test_rings_that_touch_in_points_are_filled(name: str) -> None:
    _assert_filled_in_place(TOUCHING[name])


def test_an_opening_that_touches_the_outline_at_a_vertex_is_filled() -> None:
    outline = [(0, 0), (8, 0), (8, 8), (0, 8), (0, 4)]
    _assert_filled_in_place(shapely.Polygon(outline, [[(0, 4), (3, 6), (3, 2)]]))


@given(mosaics())
@settings(max_examples=60)
def test_colors_of_a_raster_are_filled_however_they_touch(colors: list[shapely.MultiPolygon]) -> None:
    for color in noded_coverage(colors):
        _assert_filled_in_place(color)


def _answering(monkeypatch: pytest.MonkeyPatch, answer: shapely.GeometryCollection) -> None:
    """Let the engine give one answer to all."""
    monkeypatch.setattr(
        shapely, "constrained_delaunay_triangles", lambda shapes: np.full(len(shapes), answer)
    )


ARMS = shapely.Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)])
"""An L: four triangles fill it."""


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ([], "the count of triangles is wrong"),
        ([[(0, 0), (4, 0), (4, 1)]] * 3, "the count of triangles is wrong"),
        ([[(0, 0), (4, 0), (4, 1)]] * 3 + [[(0, 0), (1, 1), (0, 0)]], "a triangle has no area"),
        ([[(0, 0), (4, 0), (4, 1)]] * 4, "the area is wrong"),
        ([[(0, 0), (4, 0), (1, 3.5)]], "a triangle has a corner of its own"),
    ],
)
def test_an_answer_that_does_not_fill_the_polygon_is_refused(
    corners: list[list[tuple[float, float]]], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = [shapely.Polygon(np.array(three) * 1000) for three in corners]
    _answering(monkeypatch, shapely.GeometryCollection(steps))
    with pytest.raises(GeometryError, match=f"cannot be triangulated: {words}"):
        triangulate(rings_of(ARMS))


def test_the_place_of_the_polygon_at_fault_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = shapely.constrained_delaunay_triangles
    nothing = shapely.GeometryCollection()
    monkeypatch.setattr(
        shapely,
        "constrained_delaunay_triangles",
        lambda shapes: np.array([engine(shapes[0]), nothing]),
    )
    with pytest.raises(GeometryError, match=r"the shape at \(7\.00, 5\.00\) mm cannot"):
        triangulate(rings_of(shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(5, 5, 7, 7)])))


def test_an_engine_that_gives_up_is_one_plain_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: object) -> None:
        raise shapely.GEOSException("no ear to clip")

    monkeypatch.setattr(shapely, "constrained_delaunay_triangles", fail)
    with pytest.raises(GeometryError, match="cannot be triangulated: no ear to clip"):
        triangulate(rings_of(ARMS))


def test_empty_shapes_have_no_triangles() -> None:
    assert triangulate(rings_of(shapely.MultiPolygon())).shape == (0, 3)


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
