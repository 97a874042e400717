"""The plan against handbook values and published rules; the source stands beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from reliefsmith.model import FlatAreas, Frame, Motif
from reliefsmith.plan import hang, hardware_table, outline
from reliefsmith.plan.hang.balance import center_of_mass
from reliefsmith.plan.hang.strength import LEAST_FACTOR, LOAD_N, Lug
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings

HEIGHTS = HeightSettings(style="raised")
RECIPE = Recipe()


def sector(radius: float, start: float, stop: float, steps: int = 2000) -> shapely.Polygon:
    angles = np.radians(np.linspace(start, stop, steps))
    arc = np.column_stack([np.cos(angles), np.sin(angles)]) * radius
    return shapely.Polygon([(0.0, 0.0), *map(tuple, arc)])


def one_color(shape: shapely.Polygon) -> FlatAreas:
    left, low, right, high = shape.bounds
    frame = Frame(0.1, (0.0, 0.0), 0.0, (100, 100))
    color = np.array([[200, 30, 30]], np.uint8)
    return FlatAreas((as_multi(shape),), color, frame, (right - left, high - low))


# Handbook centroids.
CENTROIDS = [
    ("right triangle b 6 h 4: (b/3, h/3)", shapely.Polygon([(0, 0), (6, 0), (0, 4)]), (2.0, 4 / 3)),
    ("semicircle R 5: 4 R / (3 pi)", sector(5, 0, 180), (0.0, 2.122066)),
    ("quarter circle R 5: both 4 R / (3 pi)", sector(5, 0, 90), (2.122066, 2.122066)),
    (
        "trapezium a 6, b 2, h 3: y = h (a + 2 b) / (3 (a + b))",
        shapely.Polygon([(-3, 0), (3, 0), (1, 3), (-1, 3)]),
        (0.0, 3 * (6 + 4) / (3 * 8)),
    ),
    (
        "disc R 10 with a hole r 4 at x 5: x = -r^2 5 / (R^2 - r^2)",
        shapely.Point(0, 0).buffer(10, 500) - shapely.Point(5, 0).buffer(4, 500),
        (-16 * 5 / (100 - 16), 0.0),
    ),
]


@pytest.mark.parametrize(("name", "shape", "center"), CENTROIDS, ids=[row[0] for row in CENTROIDS])
def test_centre_of_mass_of_handbook_shapes(name, shape, center):
    assert center_of_mass(shape, [], HEIGHTS) == pytest.approx(center, abs=1e-4)


def test_centre_of_mass_of_a_piece_is_that_of_its_solids():
    """Composite bodies: sum of volume x centroid; base 2.0 mm high, motif 0.6 mm, one density."""
    base, motif = shapely.box(0, 0, 40, 20), as_multi(sector(8, 0, 180))
    moved = shapely.affinity.translate(motif, 30, 5)
    x, y = center_of_mass(base, [Motif((0, 0, 0), as_multi(moved))], HEIGHTS)
    volume_base, volume_motif = 40 * 20 * 2.0, math.pi * 64 / 2 * 0.6
    total = volume_base + volume_motif
    assert x == pytest.approx((volume_base * 20 + volume_motif * 30) / total, abs=1e-4)
    rise = 5 + 4 * 8 / (3 * math.pi)
    assert y == pytest.approx((volume_base * 10 + volume_motif * rise) / total, abs=1e-4)


def test_a_border_round_a_convex_artwork_follows_steiner():
    """Minkowski-Steiner: hexagon of radius 10, border 1: area 322.949214, perimeter 66.283185."""
    angles = np.arange(6) * math.pi / 3
    hexagon = shapely.Polygon(np.round(10 * np.column_stack([np.cos(angles), np.sin(angles)]), 3))
    plan = outline(one_color(hexagon), base=RECIPE.base, colors=RECIPE.colors)
    assert plan.base.area == pytest.approx(322.949214, abs=0.1)
    assert plan.base.length == pytest.approx(66.283185, abs=0.05)


def test_the_worked_lug():
    """Bruhn D1, simplified (from memory): D 5, t 2, w 11, e 5.5, P 90 N; planes at 40 deg, 3.584889 mm."""
    lug = Lug(hole=5.0, width=11.0, edge=5.5, thickness=2.0)
    assert lug.net(90.0) == 7.5
    assert lug.bearing(90.0) == 9.0
    assert lug.shear(90.0) == pytest.approx(6.276346, abs=1e-6)


def test_the_default_eyelet_holds_the_tension_test_with_the_wanted_factor():
    """EN 71-1 8.4: 90 N for parts over 6 mm; factor 3 on printed PLA, 50 MPa (common practice, no source)."""
    wall, hole, base = RECIPE.hang.wall_mm, RECIPE.hang.hole_mm, RECIPE.heights.base_mm
    lug = Lug(hole, hole + 2 * wall, hole / 2 + wall, base)
    assert LOAD_N == 90
    assert lug.weakest().factor >= LEAST_FACTOR == 3


def test_edge_distance_of_the_default_eyelet_is_a_full_diameter():
    """Building steel allows no hole nearer to an edge than 1 d (AISC 360-16, J3); ours: e = D / 2 + wall."""
    assert RECIPE.hang.hole_mm / 2 + RECIPE.hang.wall_mm >= RECIPE.hang.hole_mm


def test_two_turns_of_wire_pass_the_default_hole():
    """Fit of a split ring: hole >= 2 x wire + clearance (derived), so 4-5 mm for wire of 1.2-2.0 mm."""
    ring = hardware_table()[0]
    assert ring.name == "split-ring"
    assert 2 * ring.wire_mm <= ring.opening_mm <= RECIPE.hang.hole_mm
    assert (ring.wire_mm, ring.opening_mm) == (2.0, 4.4)  # a ring of 24 x 2 mm: sizes of the trade, read


def test_the_ring_swings_round_the_default_wall():
    """Bridge <= inner diameter / 2 - wire (derived): 24 mm inside and 2 mm wire reach 10.0 mm."""
    ring = hardware_table()[0]
    assert (ring.wire_mm, ring.reach_mm) == (2.0, 24 / 2 - 2.0)
    assert RECIPE.hang.wall_mm <= ring.reach_mm
    assert not ring.fits(RECIPE.hang.hole_mm, ring.reach_mm + 0.1)


@pytest.mark.parametrize("corner", [(-20.0, 12.0), (20.0, 12.0)])
def test_a_plate_hung_at_a_corner_hangs_by_its_diagonal(corner):
    """A hanging body comes to rest with its centre of mass below the pivot (statics)."""
    plate = shapely.box(-22, -14, 22, 14)
    plan = outline(one_color(plate), base=RECIPE.base, colors=RECIPE.colors)
    section = RECIPE.with_values({"hang.at_mm": list(corner)}).hang
    hung = hang(plan, hang=section, heights=HEIGHTS, printer=PrinterSettings())
    x, y = hung.center_of_mass_mm
    expected = math.degrees(math.atan2(abs(corner[0] - x), corner[1] - y))
    assert hung.hole.hang_angle_deg == pytest.approx(expected, abs=0.01)
    # Wire bears where the hole's edge is farthest from the mass.
    away = np.array(hung.hole.rest_mm) - np.array(hung.center_of_mass_mm)
    assert np.hypot(*away) == pytest.approx(math.dist(corner, (x, y)) + 2.5, abs=0.01)
