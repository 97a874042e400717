"""Small parts, tips and the bed, on outlines with known answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from reliefsmith.checks.handling import bed_findings, handling_findings
from reliefsmith.checks.smallparts import cannot_fit, extents
from reliefsmith.checks.tips import sharp_tips
from reliefsmith.findings import Severity

sides = st.floats(5, 80)
turns = st.floats(0, 180)


@given(sides, sides, turns)
def test_extents_of_a_rectangle_in_any_turn(width: float, depth: float, turn: float) -> None:
    longest, least = extents(affinity.rotate(shapely.box(0, 0, width, depth), turn))
    assert longest == pytest.approx(math.hypot(width, depth), rel=1e-9)
    assert least == pytest.approx(min(width, depth), rel=1e-9)


@given(st.lists(st.tuples(st.floats(-40, 40), st.floats(-40, 40)), min_size=4, max_size=12), turns)
@settings(max_examples=40)
def test_extents_agree_with_trying_all_directions(points: list[tuple[float, float]], turn: float) -> None:
    hull = shapely.MultiPoint(points).convex_hull
    if hull.geom_type != "Polygon" or hull.area < 1:
        return
    longest, least = extents(affinity.rotate(hull, turn))
    angles = np.linspace(0, math.pi, 721)
    across = np.array(points) @ np.array([np.cos(angles), np.sin(angles)])
    spans = np.ptp(across, axis=0)
    assert spans.max() <= longest + 1e-9
    assert spans.max() == pytest.approx(longest, rel=1e-4)
    assert least <= spans.min() + 1e-9
    # Between two directions half a quarter degree apart a width grows by at most that turn times the extent.
    assert spans.min() <= least + longest * math.radians(0.25)


@given(st.floats(1, 30), st.floats(1, 30))
def test_what_can_be_laid_in_the_cylinder_is_never_said_not_to_fit(width: float, depth: float) -> None:
    """A plate of 30 x 25 mm stands upright in the cylinder, which is 31.75 wide and 25.4 deep."""
    assert not cannot_fit(shapely.box(0, 0, min(width, 25.0), depth))


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


def test_an_opening_with_sharp_corners_is_no_tip() -> None:
    """The corner of an opening points into the material."""
    opened = shapely.box(0, 0, 70, 40).buffer(2).difference(shapely.Polygon([(10, 10), (40, 12), (10, 14)]))
    assert [item.code for item in handling_findings(opened, audience="children")] == []


def test_children_get_the_stricter_rule() -> None:
    equal = shapely.Polygon([(0, 0), (80, 0), (40, 80 * math.sqrt(3) / 2)]).buffer(0.05)
    seventy = shapely.Polygon([(0, 0), (80, 0), (40, 40 * math.tan(math.radians(70)))])
    assert {item.code for item in handling_findings(seventy, audience="children")} == {"sharp-tip"}
    assert {item.severity for item in handling_findings(seventy, audience="children")} == {Severity.WARN}
    assert all(item.severity is Severity.NOTE for item in handling_findings(equal, audience="adults"))


@pytest.mark.parametrize(
    ("width", "depth", "fits"), [(100, 50, True), (50, 100, True), (101, 50, False), (80, 80, False)]
)
def test_the_bed(width: float, depth: float, fits: bool) -> None:
    codes = {item.code for item in bed_findings(shapely.box(0, 0, width, depth), (100.0, 60.0))}
    assert ("bed-too-small" not in codes) is fits


def test_many_tips_are_counted_and_pieces_do_not_hide_them() -> None:
    """A sun of twelve rays beside a second piece."""
    turn = 2 * np.pi * np.arange(24) / 24
    radius = np.where(np.arange(24) % 2, 20.0, 45.0)
    sun = shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]) * radius[:, None])
    both = shapely.union(sun, shapely.box(60, 0, 90, 30).buffer(2))
    assert both.geom_type == "MultiPolygon"
    found = handling_findings(both, audience="adults")
    assert [item.code for item in found] == ["sharp-tip"] * 3
    assert "9 more tips" in found[-1].message
    assert all(item.at_mm is not None and math.hypot(*item.at_mm[:2]) > 44 for item in found)


def test_a_long_piece_fits_askew() -> None:
    """250 x 20 mm on a bed of 220 x 220 mm: across the diagonal of 311 mm; 300 x 20 mm does not fit."""
    item, _lifting_corner = bed_findings(shapely.box(0, 0, 250, 20), (220.0, 220.0))
    assert item.code == "bed-too-small"
    assert item.severity is Severity.NOTE
    turn = float(item.message.split("turned by ")[1].split()[0])
    turned = affinity.rotate(shapely.box(0, 0, 250, 20), turn)
    x0, y0, x1, y1 = turned.bounds
    assert max(x1 - x0, y1 - y0) <= 220
    assert bed_findings(shapely.box(0, 0, 300, 20), (220.0, 220.0))[0].severity is Severity.STOP


def _lifting(outline: shapely.Polygon) -> list[tuple[float, float]]:
    found = bed_findings(outline, (220.0, 220.0))
    return [item.at_mm[:2] for item in found if item.code == "corner-may-lift" and item.at_mm is not None]


def test_the_farthest_sharp_corner_of_a_long_piece_may_lift() -> None:
    sign = shapely.Polygon([(-70, -20), (60, -20), (60, 20), (-50, 20)])
    assert _lifting(sign) == [(-70.0, -20.0)]


def test_short_or_rounded_pieces_do_not_lift() -> None:
    assert _lifting(shapely.box(-30, -15, 30, 15)) == []
    assert _lifting(shapely.box(-60, -20, 60, 20).buffer(4, quad_segs=32)) == []
    assert _lifting(shapely.Point(0, 0).buffer(80, quad_segs=64)) == []
