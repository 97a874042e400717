"""Sharp tips: corners of known angle, rounded ones, bridges, outlines laid in tiles."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity

from reliefsmith.checks.tips import sharp_tips, tip_reach


@pytest.mark.parametrize("angle", [20, 40, 55, 58])
def test_a_sharp_corner_is_a_tip(angle: float) -> None:
    half = math.radians(angle / 2)
    wedge = shapely.Polygon([(0, 0), (30, 30 * math.tan(half)), (30, -30 * math.tan(half))])
    tips = sharp_tips(wedge, 60)
    assert tips
    x, y, reach = tips[0]
    assert math.hypot(x, y) < 1e-6
    assert reach == pytest.approx(0.5 * (1 / math.sin(half) - 1), rel=0.03)


@pytest.mark.parametrize("angle", [63, 75, 90, 120])
def test_a_blunt_corner_is_no_tip(angle: float) -> None:
    half = math.radians(angle / 2)
    rhombus = shapely.Polygon(
        [
            (20 * math.cos(half), 0),
            (0, 20 * math.sin(half)),
            (-20 * math.cos(half), 0),
            (0, -20 * math.sin(half)),
        ]
    )
    sharpest = min(angle, 180 - angle)
    tips = sharp_tips(rhombus, 60)
    assert len(tips) == (2 if sharpest < 60 else 0)


def test_a_rounded_corner_is_no_tip() -> None:
    star = shapely.Polygon([(0, 0), (30, 4), (30, -4)])
    assert sharp_tips(star, 60)
    assert sharp_tips(star.buffer(0.6, quad_segs=16), 60) == []


def test_a_thin_bridge_is_no_tip() -> None:
    bridge = shapely.union_all(
        [shapely.box(0, 0, 10, 10), shapely.box(20, 0, 30, 10), shapely.box(9, 4.7, 21, 5.3)]
    )
    assert sharp_tips(bridge, 60) == []


@pytest.mark.parametrize("radius", [0.5, 3.0])
def test_a_larger_rounding_is_asked_of_a_wider_corner(radius: float) -> None:
    """The reach of a corner beyond its rounding grows with the radius alone."""
    assert tip_reach(100.0, radius) == pytest.approx(radius * (1 / math.sin(math.radians(50)) - 1))
    square = shapely.box(0, 0, 40, 40)
    assert len(sharp_tips(square, 100.0, radius)) == 4
    assert sharp_tips(square.buffer(radius + 0.2, quad_segs=32), 100.0, radius) == []


def test_the_farthest_tip_comes_first_and_ties_go_by_place() -> None:
    kite = shapely.Polygon([(-60, 0), (0, -6), (30, 0), (0, 6)])
    places = [(round(x), round(y)) for x, y, _ in sharp_tips(kite, 60)]
    assert places == [(-60, 0), (30, 0)]
    both = shapely.MultiPolygon([shapely.box(0, 0, 4, 4), shapely.box(10, 0, 14, 4)])
    found = sharp_tips(both, 100.0)
    assert len(found) == 8
    assert [tip[:2] for tip in found] == sorted(tip[:2] for tip in found)


def test_tips_of_a_large_outline_are_found_once_wherever_it_lies() -> None:
    """Saw teeth over 400 mm, cut into tiles; a shift moves the tiles' edges over the teeth."""
    teeth = [(x, y) for tooth in range(100) for x, y in ((4.0 * tooth, 0.0), (4.0 * tooth + 2.0, 8.0))]
    saw = shapely.Polygon([*teeth, (400.0, 0.0), (400.0, -20.0), (0.0, -20.0)])
    for shift in (0.0, 1.3, 2.0):
        upper = [tip for tip in sharp_tips(affinity.translate(saw, shift, shift), 60) if tip[1] > 7.0 + shift]
        assert sorted(round(x - shift, 6) for x, _, _ in upper) == [4.0 * tooth + 2.0 for tooth in range(100)]
