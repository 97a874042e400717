"""The hole that a finished piece has: found by measuring, its wall, the angle at which the piece hangs."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from core.solid.plans import plan_of
from reliefsmith.checks.hanging import FoundHole, found_hole, hole_findings, plan_findings
from reliefsmith.findings import Severity
from reliefsmith.model.hanglimits import LEAST_HOLE_MM, WALL_STOP_MM, WALL_WARN_MM

PLATE = shapely.box(-20, -10, 20, 10)


def _disc(x: float, y: float, radius: float) -> shapely.Polygon:
    return shapely.Point(x, y).buffer(radius, quad_segs=64)


@given(st.floats(-14, 14), st.floats(-4, 4), st.floats(1.1, 3.0))
def test_a_round_hole_is_measured_where_it_is(x: float, y: float, radius: float) -> None:
    hole = found_hole(PLATE - _disc(x, y, radius))
    assert hole is not None
    assert hole.center_mm == pytest.approx((x, y), abs=0.02)
    assert hole.diameter_mm == pytest.approx(2 * radius, abs=0.02)
    assert hole.wall_mm == pytest.approx(min(20 - abs(x), 10 - abs(y)) - radius, abs=0.02)


def test_the_wall_is_measured_to_other_openings_too() -> None:
    hole = found_hole(PLATE - _disc(0, 5, 2.0) - shapely.box(-3, -2, 3, 1.2), (0.0, 5.0))
    assert hole is not None
    assert hole.wall_mm == pytest.approx(1.8, abs=0.01)


def test_a_hole_narrower_than_any_hardware_is_none() -> None:
    assert found_hole(PLATE) is None
    assert found_hole(PLATE - _disc(0, 5, 0.45 * LEAST_HOLE_MM)) is None
    slit = PLATE - shapely.box(-15, 4, 15, 4 + 0.9 * LEAST_HOLE_MM)
    assert found_hole(slit) is None


def test_the_highest_hole_hangs_the_piece_unless_a_place_is_given() -> None:
    shape = PLATE - _disc(-10, -4, 3.0) - _disc(8, 4, 1.5)
    high, near = found_hole(shape), found_hole(shape, (-9.0, -3.0))
    assert high is not None
    assert near is not None
    assert high.center_mm == pytest.approx((8, 4), abs=0.02)
    assert near.center_mm == pytest.approx((-10, -4), abs=0.02)


def test_of_two_holes_as_high_the_larger_one_is_taken() -> None:
    hole = found_hole(PLATE - _disc(-10, 4, 1.5) - _disc(8, 4, 2.5))
    assert hole is not None
    assert hole.center_mm == pytest.approx((8, 4), abs=0.02)


def test_a_piece_in_two_has_the_holes_of_both() -> None:
    both = shapely.MultiPolygon([PLATE, affinity.translate(PLATE - _disc(0, 5, 2), 60, 0)])
    hole = found_hole(both)
    assert hole is not None
    assert hole.center_mm == pytest.approx((60, 5), abs=0.02)


@pytest.mark.parametrize(
    ("wall", "code"),
    [
        (WALL_WARN_MM, None),
        (WALL_WARN_MM - 0.01, "hole-wall-thin"),
        (WALL_STOP_MM, "hole-wall-thin"),
        (WALL_STOP_MM - 0.01, "hole-wall-weak"),
    ],
)
def test_walls_are_held_to_their_limits(wall: float, code: str | None) -> None:
    found = hole_findings(FoundHole((0.0, 5.0), 4.0, wall), None, (0.0, 0.0), 3.0)
    assert [item.code for item in found] == ([] if code is None else [code])
    assert all(item.at_mm == (0.0, 5.0, 3.0) for item in found)


@pytest.mark.parametrize(
    ("angle", "severity"), [(2.9, None), (3.1, Severity.NOTE), (7.9, Severity.NOTE), (8.1, Severity.WARN)]
)
@pytest.mark.parametrize("side", [-1, 1])
def test_the_angle_is_that_from_the_pivot_to_the_balance(
    angle: float, severity: Severity | None, side: int
) -> None:
    mass = (side * 10 * math.tan(math.radians(angle)), -5.0)
    found = hole_findings(FoundHole((0.0, 5.0), 4.0, 3.0), None, mass, 3.0)
    assert [item.severity for item in found] == ([] if severity is None else [severity])
    # A ring bears at the hole's upper edge: known pivots are measured from there.
    above = hole_findings(FoundHole((0.0, 5.0), 4.0, 3.0), (mass[0], 7.0), mass, 3.0)
    assert above == ()


def test_no_hole_is_told_and_a_hole_of_a_plan_is_measured_on_its_base() -> None:
    (item,) = hole_findings(None, None, (0.0, 0.0), 3.0)
    assert item.code == "hole-missing"
    (missing,) = plan_findings(plan_of(PLATE), (0.0, 0.0), 3.0)
    assert missing.code == "hole-missing"
    assert plan_findings(plan_of(PLATE - _disc(0, 5, 2)), (0.0, 0.0), 3.0) == ()
