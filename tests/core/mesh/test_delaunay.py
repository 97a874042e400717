from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from oracles import worst_aspect
from reliefsmith.mesh import prism, rings_of, triangulate

from .samples import APART, plates, round_plate

NOISE = 1e-9
"""Of cotangents of sides up to 60,000 steps long."""


def _cotangents(points: np.ndarray, triangles: np.ndarray) -> dict[tuple[int, int], float]:
    """Return the cotangent of the angle across each side, by the side's ends in order."""
    found = {}
    for corner in range(3):
        apex, start, end = (triangles[:, (corner + step) % 3] for step in range(3))
        one, other = (points[side] - points[apex] for side in (start, end))
        cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
        cotangent = (one * other).sum(axis=1) / cross
        found.update(zip(zip(start.tolist(), end.tolist(), strict=True), cotangent.tolist(), strict=True))
    return found


def _assert_delaunay(shape: shapely.Geometry) -> None:
    """The angles across a diagonal sum to 180 degrees at most: the greatest least angle (Lawson 1977)."""
    rings = rings_of(shape)
    across = _cotangents(rings.points, triangulate(rings))
    both = [value + across[b, a] for (a, b), value in across.items() if (b, a) in across]
    assert min(both, default=0.0) >= -NOISE


@pytest.mark.parametrize("name", APART)
def test_no_other_diagonals_of_named_shapes_have_a_greater_least_angle(name: str) -> None:
    _assert_delaunay(APART[name])


@given(plates())
@settings(max_examples=40)
def test_no_other_diagonals_of_random_plates_have_a_greater_least_angle(plate: shapely.Polygon) -> None:
    _assert_delaunay(plate)


def test_no_other_diagonals_of_many_openings_have_a_greater_least_angle() -> None:
    _assert_delaunay(round_plate(2000, holes=100, hole_points=12))


def test_a_plate_with_openings_has_no_slivers() -> None:
    # Vertices 0.19 mm apart and bridges of some mm allow ratios of about a hundred, not thousands.
    mesh = prism(round_plate(1000, holes=36, hole_points=16), 0.0, 2.0)
    assert worst_aspect(mesh) < 300
