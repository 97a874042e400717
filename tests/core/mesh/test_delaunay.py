from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from oracles import worst_aspect
from reliefsmith.mesh import prism, rings_of, triangulate
from reliefsmith.mesh.delaunay import improved
from reliefsmith.mesh.triangulate import _constrained_delaunay, doubled_triangle_areas

from .samples import APART, plates, round_plate


def _least_angle(points: np.ndarray, triangles: np.ndarray) -> float:
    """Return the least angle of all triangles in radians."""
    least = np.pi
    for corner in range(3):
        a, b, c = (points[triangles[:, (corner + step) % 3]] for step in range(3))
        one, other = (b - a).astype(float), (c - a).astype(float)
        cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
        least = min(least, float(np.arctan2(cross, (one * other).sum(axis=1)).min()))
    return least


def _assert_as_good_as_delaunay(shape: shapely.Polygon) -> None:
    # A constrained Delaunay triangulation has the greatest least angle (Lawson 1977), whatever the engine.
    rings = rings_of(shape)
    own = _least_angle(rings.points, triangulate(rings))
    reference = _least_angle(rings.points, _constrained_delaunay(rings.points, rings.ring_starts))
    assert own >= reference * (1 - 1e-6)


@pytest.mark.parametrize("name", [name for name in APART if name != "island in an opening"])
def test_named_shapes_have_the_best_least_angle(name: str) -> None:
    _assert_as_good_as_delaunay(APART[name])


@given(plates())
@settings(max_examples=40)
def test_random_plates_have_the_best_least_angle(plate: shapely.Polygon) -> None:
    _assert_as_good_as_delaunay(plate)


def test_a_plate_with_openings_has_no_slivers() -> None:
    # Vertices 0.19 mm apart and bridges of some mm allow ratios of about a hundred, not thousands.
    mesh = prism(round_plate(1000, holes=36, hole_points=16), 0.0, 2.0)
    assert worst_aspect(mesh) < 300


def test_nothing_is_exchanged_across_the_outline() -> None:
    # Two triangles that only touch along a line between their outlines keep it.
    points = np.array([[0, 0], [10, -1], [20, 0], [10, 1]])
    lone = np.array([[0, 1, 2]])
    np.testing.assert_array_equal(improved(points, lone), lone)


def test_exchanges_keep_area_and_count() -> None:
    rings = rings_of(round_plate(800, holes=9, hole_points=12))
    triangles = triangulate(rings).astype(np.int64)
    worse = triangles[np.argsort(triangles[:, 0], kind="stable")]
    better = improved(rings.points, worse)
    assert len(better) == len(worse)
    areas = doubled_triangle_areas(rings.points, better)
    assert (areas > 0).all()
    assert areas.sum() == doubled_triangle_areas(rings.points, worse).sum()
