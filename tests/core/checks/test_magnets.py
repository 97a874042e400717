"""Magnets and pins: a warning for adults, refused for children, and no word of compliance."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.checks.hanging import found_hole, hole_findings, plan_findings
from reliefsmith.checks.magnets import caution_findings
from reliefsmith.findings import Severity
from reliefsmith.model import Hole, Pocket

PLAIN = plan_of(shapely.box(-20, -10, 20, 10) - shapely.Point(0, 6).buffer(2))


def pocketed(kind, x=0.0, y=0.0):
    return replace(PLAIN, pockets=(Pocket(kind, shapely.box(x - 2, y - 2, x + 2, y + 2), 1.2, "back"),) * 2)


@pytest.mark.parametrize(("kind", "word"), [("magnet", "swallowed"), ("pin", "sharp point")])
def test_adults_are_cautioned_and_children_refused(kind, word):
    (adults,) = caution_findings(pocketed(kind), audience="adults")
    (children,) = caution_findings(pocketed(kind), audience="children")
    assert adults.code == children.code == f"{kind}-caution"
    assert (adults.severity, children.severity) == (
        Severity.WARN,
        Severity.STOP,
    )  # harm is never just good to know
    for item in (adults, children):
        assert word in item.message
        assert "not a certification" in item.message


def test_a_swallowed_magnet_is_said_to_be_an_emergency():
    (magnet,) = caution_findings(pocketed("magnet"), audience="adults")
    assert "emergency: get medical help at once" in magnet.message
    assert "button cell" in magnet.message


def test_nothing_to_caution_of_in_a_plain_piece_or_a_countersink():
    for plan in (PLAIN, pocketed("countersink")):
        assert caution_findings(plan, audience="children") == ()


def test_a_pin_beside_the_balance_hangs_crooked_and_a_magnet_does_not():
    (crooked,) = {item.message for item in plan_findings(pocketed("pin", 8.0, 8.0), (0.0, 0.0), 2.0)}
    assert "45.0 degrees" in crooked
    assert plan_findings(pocketed("pin", 0.0, 8.0), (0.0, 0.0), 2.0) == ()
    assert plan_findings(pocketed("magnet", 8.0, 8.0), (0.0, 0.0), 2.0) == ()


def test_two_holes_are_judged_by_the_point_midway_and_two_screws_only_by_their_walls():
    base = shapely.box(-20, -10, 20, 10) - shapely.Point(-12, 5).buffer(2) - shapely.Point(12, 5).buffer(2)
    holes = [Hole((x, 5.0), 4.0, 3.0, 0.0, "inside", (x, 7.0), "cord") for x in (-12.0, 12.0)]
    plan = replace(plan_of(base), hole=holes[0], other_holes=(holes[1],))
    assert plan_findings(plan, (0.0, 0.0), 2.0) == ()
    (crooked,) = plan_findings(plan, (7.0, 0.0), 2.0)
    assert crooked.code == "hangs-crooked"
    assert "45.0 degrees" in crooked.message
    screws = [replace(hole, hardware="screw") for hole in holes]
    assert plan_findings(replace(plan, hole=screws[0], other_holes=(screws[1],)), (7.0, 0.0), 2.0) == ()


def test_a_hole_below_the_balance_is_none_to_hang_it_by_unless_it_is_known_to_be():
    hole = found_hole(shapely.box(-20, -10, 20, 10) - shapely.Point(0, -6).buffer(2))
    (missing,) = hole_findings(hole, None, (0.0, 0.2), 2.0)
    assert missing.code == "hole-missing"
    assert "above the balance" in missing.message
    (crooked,) = hole_findings(hole, (0.0, -4.0), (0.0, 0.2), 2.0)
    assert crooked.code == "hangs-crooked"
    assert hole_findings(found_hole(PLAIN.base), None, (0.0, -0.2), 2.0) == ()
