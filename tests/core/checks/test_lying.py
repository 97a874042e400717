"""How pieces lie on a bed: the least gap against the spacing, the extent of all against the bed."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.checks.lying import lying_findings
from reliefsmith.findings import Severity


def _codes(*outlines: shapely.Geometry, bed: tuple[float, float] = (100.0, 60.0)) -> list[str]:
    return [item.code for item in lying_findings(outlines, bed_mm=bed, spacing_mm=5.0)]


def test_pieces_that_lie_as_asked_say_nothing() -> None:
    assert _codes(shapely.box(0, 0, 40, 30), shapely.box(45, 0, 100, 60)) == []
    assert _codes(shapely.box(-50, -30, 50, 30)) == []


@pytest.mark.parametrize(("gap", "near"), [(4.99, True), (5.0, False), (0.0, True), (-2.0, True)])
def test_two_pieces_nearer_than_the_spacing_are_told(gap: float, near: bool) -> None:
    codes = _codes(shapely.box(0, 0, 40, 30), shapely.box(40 + gap, 0, 80, 30))
    assert codes == (["pieces-near"] if near else [])


def test_the_nearest_two_of_many_are_the_ones_told() -> None:
    row = [shapely.box(x, 0, x + 10, 10) for x in (0, 20, 33, 50)]
    (item,) = lying_findings(row, bed_mm=(100.0, 60.0), spacing_mm=5.0)
    assert "3.00 mm" in item.message


@pytest.mark.parametrize(
    ("width", "depth", "large"), [(100, 60, False), (100.1, 60, True), (100, 60.1, True), (60, 100, True)]
)
def test_all_pieces_together_must_lie_on_the_bed(width: float, depth: float, large: bool) -> None:
    """Where they lie is the caller's: the bed's corner may be anywhere, and nothing is turned."""
    found = lying_findings([shapely.box(7, -3, 7 + width, depth - 3)], bed_mm=(100.0, 60.0), spacing_mm=5.0)
    assert [(item.code, item.severity) for item in found] == [("bed-too-small", Severity.STOP)] * large
