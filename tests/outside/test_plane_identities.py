"""The plane kernel against identities of plane geometry; sources beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from reliefsmith.polygons import ARC_MM, arc_segments, disc, grow, noded_coverage, opened, shrink

SQUARE = shapely.box(0, 0, 10, 10)
TRIANGLE = shapely.Polygon([(0, 0), (4, 0), (0, 3)])
HEXAGON = shapely.Polygon([(10 * math.cos(a), 10 * math.sin(a)) for a in np.arange(6) * math.pi / 3])

# Minkowski-Steiner formula for convex shapes: A(r) = A + P r + pi r^2, P(r) = P + 2 pi r. Values for r = 1.
STEINER = [
    ("square", SQUARE, 143.141593, 46.283185),
    ("3-4-5 triangle", TRIANGLE, 21.141593, 18.283185),
    ("hexagon", HEXAGON, 322.949214, 66.283185),
]


@pytest.mark.parametrize(("name", "shape", "area", "perimeter"), STEINER, ids=[row[0] for row in STEINER])
def test_steiner(name, shape, area, perimeter):
    grown = grow(shape, 1.0)
    assert grown.area == pytest.approx(area, abs=0.02)
    assert grown.length == pytest.approx(perimeter, abs=0.02)


@pytest.mark.parametrize(
    ("shape", "on_the_grid"), [(SQUARE, True), (TRIANGLE, False)], ids=["square", "3-4-5 triangle"]
)
@pytest.mark.parametrize("radius", [0.3, 1.0, 2.5])
def test_steiner_with_the_chords_of_arcs(shape, on_the_grid, radius):
    """An arc of m segments a full turn: A + P r + (m / 2) r^2 sin(2 pi / m), P + 2 m r sin(pi / m).

    Exact where the corners' normals lie on the m directions, as for a square; else the chords of an arc miss
    it by ARC_MM at most, over a length of 2 pi r.
    """
    m = 4 * arc_segments(radius)
    area = shape.area + shape.length * radius + m / 2 * radius**2 * math.sin(2 * math.pi / m)
    perimeter = shape.length + 2 * m * radius * math.sin(math.pi / m)
    grown = grow(shape, radius)
    if on_the_grid:
        assert grown.area == pytest.approx(area, rel=1e-9)
        assert grown.length == pytest.approx(perimeter, rel=1e-9)
    else:
        smooth = shape.area + shape.length * radius + math.pi * radius**2
        assert smooth - ARC_MM * 2 * math.pi * radius <= grown.area <= smooth


def test_mitered_growth_and_shrinking_of_a_square():
    """(a + 2 r)^2, (a - 2 r)^2, and the opening a^2 - (4 - pi) r^2 (derived)."""
    assert grow(SQUARE, 1, "miter").area == pytest.approx(144)
    assert shrink(SQUARE, 1).area == pytest.approx(64)
    assert opened(SQUARE, 1).area == pytest.approx(99.141593, abs=0.02)


def test_beveled_growth_of_a_square_cuts_each_corner_by_a_right_triangle():
    """Between the normals of a right corner lies a triangle of legs r: A + P r + 4 r^2 / 2 (derived)."""
    assert grow(SQUARE, 1, "bevel").area == pytest.approx(100 + 40 + 2)


@pytest.mark.parametrize(
    ("n", "gap", "deficit_percent"),
    [(16, 0.192147, 2.5505), (32, 0.048153, 0.6413), (64, 0.012045, 0.1606), (128, 0.003012, 0.0402)],
)
def test_a_circle_as_polygon(n, gap, deficit_percent):
    """Largest gap R (1 - cos(pi / n)), area n / 2 R^2 sin(2 pi / n), for R = 10 (derived)."""
    polygon = shapely.Point(0, 0).buffer(10, quad_segs=n // 4)
    middles = (shapely.get_coordinates(polygon)[1:] + shapely.get_coordinates(polygon)[:-1]) / 2
    assert 10 - np.hypot(*middles.T).min() == pytest.approx(gap, abs=1e-6)
    assert 100 * (1 - polygon.area / (math.pi * 100)) == pytest.approx(deficit_percent, abs=1e-4)


@pytest.mark.parametrize(("radius", "gap"), [(2.5, 0.004), (10.0, 0.004), (35.0, 0.02)])
def test_segments_for_a_gap(radius, gap):
    """n = ceil(pi / acos(1 - e / R)) segments keep the gap e (derived); ours: a multiple of 4, up to 128."""
    needed = math.ceil(math.pi / math.acos(1 - gap / radius))
    count = 4 * arc_segments(radius)
    assert count >= min(needed, 128)
    assert count % 4 == 0
    assert len(disc(0, 0, radius).exterior.coords) == count + 1


def test_growing_is_isoperimetric():
    """4 pi A / P^2 <= 1 with equality for the circle only: growth makes any shape rounder."""

    def roundness(shape):
        return 4 * math.pi * shape.area / shape.length**2

    values = [roundness(grow(SQUARE, distance)) for distance in (0, 1, 3, 10, 50)]
    assert values[0] == pytest.approx(0.785398, abs=1e-6)
    assert values == sorted(values)
    assert values[-1] < 1


def test_noding_keeps_eulers_formula():
    """V - E + F = 1 + C for the noded lines of a coverage with C pieces, outer face included."""
    cells = [shapely.box(x, y, x + 1.5, y + 1.5) for x in (0, 1, 2) for y in (0, 1, 2)]
    faces = [face for part in noded_coverage(cells) for face in part.geoms]
    lines = shapely.get_parts(shapely.union_all(shapely.boundary(faces), grid_size=0.001))
    edges = sum(len(line.coords) - 1 for line in lines)
    vertices = len(np.unique(shapely.get_coordinates(lines), axis=0))
    cut = shapely.get_parts(shapely.polygonize(list(lines)))
    assert vertices - edges + len(cut) + 1 == 1 + 1


@pytest.mark.parametrize(
    ("count", "outer", "inner", "area"), [(5, 10.0, 4.0, 117.557050), (6, 10.0, 5.0, 150.0)]
)
def test_a_star_is_snapped_without_loss(count, outer, inner, area):
    """Area n R r sin(pi / n) (derived); rounding moves the boundary by half a grid step at most."""
    angles = np.arange(2 * count) * math.pi / count
    radii = np.where(np.arange(2 * count) % 2 == 0, outer, inner)
    star = shapely.Polygon(np.column_stack([np.cos(angles), np.sin(angles)]) * radii[:, None])
    (snapped,) = noded_coverage([star])
    assert star.area == pytest.approx(area, abs=1e-5)
    assert abs(snapped.area - area) <= 0.0005 * star.length
