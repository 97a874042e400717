"""What is said of handling a piece and of the bed, on outlines with known answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from reliefsmith.checks.handling import bed_findings, handling_findings
from reliefsmith.findings import Severity


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
