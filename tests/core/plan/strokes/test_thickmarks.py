"""Strokes that a mark makes wider: as wide as it says, where it says, and nothing that others have."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.findings import Finding, Note
from reliefsmith.plan.strokes.partition import GROUND, Sheet
from reliefsmith.plan.strokes.repairnotes import Gain
from reliefsmith.plan.strokes.spared import NOTHING_KEPT, Kept
from reliefsmith.plan.strokes.thickmarks import BEFORE_ALL, thickened_steps
from reliefsmith.polygons import as_multi
from reliefsmith.progress import drain
from reliefsmith.recipe.tables import Mark

from ..arts import BLACK, RED, codes, flat, repaired
from ..markedbars import BARS, bar_width, marked
from .sheets import sheet, zone

pytestmark = pytest.mark.usefixtures("unadvised")

NONE = shapely.MultiPolygon()
BAR, BLOCK = shapely.box(-8, -0.15, 8, 0.15), shapely.box(-8, 3, 8, 7)
SHEET = sheet(BAR, BLOCK)


def thickened(
    *marks: Mark, on: Sheet = SHEET, kept: Kept = NOTHING_KEPT
) -> tuple[Sheet, list[Gain], tuple[Note, ...], tuple[Finding, ...]]:
    return drain(thickened_steps(on, [zone(on, mark) for mark in marks], kept))


def width_at(made: Sheet, x: float, number: int = 0) -> float:
    line = shapely.LineString([(x, -9), (x, 2.9)])
    return float(made.entry(number).intersection(line).length)


@pytest.mark.parametrize("value", [0.4, 0.5, 0.9, 2.0, 4.5])
def test_a_stroke_becomes_as_wide_as_asked_by_doubling(value: float) -> None:
    """Center lines are told down to an eighth of a width: 0.3 of 4.5 is less, and is reached in steps."""
    made, (gain,), notes, findings = thickened(Mark("thicken", at_mm=(0, 0), value=value))
    assert width_at(made, 2.0) == pytest.approx(value, abs=0.01)
    assert (gain.number, gain.turn) == (0, BEFORE_ALL)
    assert gain.added.area == pytest.approx(made.entry(0).area - BAR.area, abs=0.01)
    assert codes(notes) == ["mark-applied", "stroke-thickened"]
    assert notes[1].message.startswith(f"A stroke of 0.30 mm was thickened to {value:.2f} mm")
    assert findings == ()
    assert made.entry(1).equals(BLOCK)


def test_within_a_polygon_motifs_are_thickened_and_the_ground_is_not() -> None:
    half = ((0, -2), (9, -2), (9, 2), (0, 2))
    made, gains, _, _ = thickened(Mark("thicken", polygon_mm=half, value=1.0))
    assert [gain.number for gain in gains] == [0]
    assert width_at(made, 4.0) == pytest.approx(1.0, abs=0.01)
    assert width_at(made, -2.0) == pytest.approx(0.3, abs=1e-6)
    assert width_at(made, -0.55) == pytest.approx(0.3, abs=1e-6)  # round its end half a width, no more


def test_of_two_marks_the_later_one_takes_nothing_from_the_first() -> None:
    """Two bars side by side, 0.6 mm apart: both asked to be 1.2 mm wide reach into each other's way."""
    pair = sheet(BAR, shapely.box(-8, 0.75, 8, 1.05))
    wide = (Mark("thicken", at_mm=(0, 0), value=1.2), Mark("thicken", at_mm=(0, 0.9), value=1.2))
    made, (first, second), _, _ = thickened(*wide, on=pair)
    assert second.discs.intersection(first.discs).area < 1e-6
    assert width_at(made, 2.0) == pytest.approx(1.2, abs=0.01)
    assert width_at(made, 2.0, 1) == pytest.approx(1.5 - 0.6, abs=0.01)


def test_what_is_protected_is_not_taken() -> None:
    kept = Kept(as_multi(shapely.box(-9, 0.15, 0, 5)), (NONE, NONE, NONE))
    made, _, _, _ = thickened(Mark("thicken", at_mm=(4, 0), value=0.9), kept=kept)
    assert made.entry(0).intersection(kept.closed).area < 1e-6
    assert width_at(made, 4.0) == pytest.approx(0.9, abs=0.01)
    assert width_at(made, -4.0) == pytest.approx(0.6, abs=0.01)  # downward only


def test_a_gap_at_its_point_is_made_wider() -> None:
    slit = shapely.box(-8, -4, 8, 4).difference(shapely.box(-5, -0.15, 5, 0.15))
    made, (gain,), notes, _ = thickened(Mark("thicken", at_mm=(0, 0), value=0.8), on=sheet(slit))
    assert gain.number == GROUND
    assert "gap-opened" in codes(notes)
    assert made.entry(0).intersection(shapely.LineString([(2, -3), (2, 3)])).length == pytest.approx(
        6 - 0.8, abs=0.02
    )


@pytest.mark.parametrize("at", [{"at_mm": (0, 5)}, {"polygon_mm": ((-7, 4), (7, 4), (7, 6), (-7, 6))}])
def test_where_no_stroke_is_thinner_it_is_told_and_nothing_changes(at: dict) -> None:
    made, gains, notes, (told,) = thickened(Mark("thicken", value=0.9, **at))
    assert made is SHEET
    assert (gains, notes) == ([], ())
    assert told.code == "mark-missed"
    assert told.message == "mark finds no stroke thinner than 0.90 mm"


def test_a_thin_bar_is_thickened_to_what_its_mark_says_and_the_other_as_usual() -> None:
    plan = repaired(BARS, marked({"kind": "thicken", "at_mm": [0, 5], "value": 0.9}))
    assert bar_width(plan, 5) == pytest.approx(0.9, abs=0.005)
    assert bar_width(plan, -5) == pytest.approx(0.6, abs=0.005)
    assert "mark-applied" in codes(plan.notes)


def test_a_wish_for_wide_strokes_is_not_counted_as_much_repaired() -> None:
    areas = flat((BLACK, shapely.box(-20, -8, 20, 8)), (RED, shapely.box(-18, -0.4, 18, 0.4)))
    plan = repaired(areas, marked({"kind": "thicken", "at_mm": [0, 0], "value": 3.0}))
    assert bar_width(plan, 0) == pytest.approx(3.0, abs=0.01)
    assert not {"much-repaired", "left-thin"} & set(codes(plan.findings))
