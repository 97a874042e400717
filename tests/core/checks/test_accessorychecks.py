"""Accessories: what layers show begins with their name and names no place of the piece."""

from __future__ import annotations

import pytest
import shapely

import pieces
from reliefsmith.checks.accessorychecks import accessory_findings_steps
from reliefsmith.findings import Finding, Severity, finding
from reliefsmith.model import Accessory, Slab, Stack
from reliefsmith.polygons import as_multi
from reliefsmith.progress import drain

GREY = (90, 96, 104)


def _accessory(shape: shapely.Geometry, *findings: Finding, name: str = "foot") -> Accessory:
    slab = Slab("foot", "base", GREY, as_multi(shape), 0.0, 2.0)
    stack = Stack(
        slabs=(slab,),
        layer_tops_mm=tuple(round(0.2 * n, 6) for n in range(1, 11)),
        color_changes=(),
        by_height=True,
    )
    return Accessory(name, 1, stack, (pieces.part("foot", GREY, shape, (0.0, 2.0)),), (), findings)


def _found(accessory: Accessory, audience: str = "adults") -> tuple[Finding, ...]:
    steps = accessory_findings_steps(accessory, nozzle_mm=0.4, bed_mm=(200.0, 200.0), audience=audience)
    return drain(steps)


def test_a_sound_foot_says_nothing() -> None:
    assert _found(_accessory(shapely.box(0, 0, 40, 16))) == ()


def test_what_is_found_is_named_and_has_no_place() -> None:
    found = _found(_accessory(shapely.box(0, 0, 240, 16), name="left foot"))
    assert {item.code for item in found} >= {"bed-too-small"}
    assert all(item.message.startswith("Left foot: ") and item.at_mm is None for item in found)


def test_pieces_of_an_accessory_that_nothing_holds_together_are_told() -> None:
    apart = shapely.MultiPolygon([shapely.box(0, 0, 20, 16), shapely.box(30, 0, 50, 16)])
    assert "not-one-piece" in [item.code for item in _found(_accessory(apart))]


@pytest.mark.parametrize(("audience", "severity"), [("adults", Severity.WARN), ("children", Severity.STOP)])
def test_lamps_are_refused_for_children_and_come_before_all(audience: str, severity: Severity) -> None:
    lamps = finding("lamp-caution", "Lamps get warm.", None, Severity.WARN)
    other = finding("form-caution", "Softens under a hot cup.")
    found = _found(_accessory(shapely.box(0, 0, 240, 16), lamps, other), audience)
    assert [item.code for item in found[:2]] == ["lamp-caution", "form-caution"]
    assert found[0].severity is severity
    assert found[1] == other
