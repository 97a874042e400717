"""The border: as wide as the setting, at marks as wide as they say, and no steps between."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.plan.base.border import bordered
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections import BaseSettings
from reliefsmith.recipe.tables import Mark

ART = as_multi(shapely.box(-30, -10, 30, 10))
LEFT = ((-40.0, -20.0), (-20.0, -20.0), (-20.0, 20.0), (-40.0, 20.0))


def marked(value: float, **settings: object) -> tuple[shapely.MultiPolygon, shapely.MultiPolygon, list, list]:
    base = BaseSettings(**{"border_mm": 2.0, **settings})
    borders, notes, findings = bordered(ART, [ART], base, [Mark("border", polygon_mm=LEFT, value=value)])
    return borders.grown, borders.wider, [item.message for item in notes], [item.message for item in findings]


def width_at(grown: shapely.MultiPolygon, x: float) -> float:
    """Return how far the border reaches above the artwork's straight upper side."""
    column = shapely.intersection(grown, shapely.LineString([(x, 0), (x, 40)]))
    return float(column.bounds[3]) - 10.0


def test_without_marks_the_border_is_the_settings() -> None:
    borders, notes, findings = bordered(ART, [ART], BaseSettings(border_mm=2.0), [])
    assert shapely.symmetric_difference(borders.grown, ART.buffer(2.0, 64)).area < 0.05
    assert borders.wider.is_empty
    assert notes == findings == ()


@pytest.mark.parametrize("value", [5.0, 0.5, 0.0])
def test_a_mark_sets_the_border_in_its_zone_and_it_runs_out_by_half(value: float) -> None:
    grown, wider, notes, findings = marked(value)
    assert width_at(grown, -28) == pytest.approx(value, abs=0.02)
    assert width_at(grown, 25) == pytest.approx(2.0, abs=0.02)
    half = -20 + abs(value - 2.0)  # by .5 mm a millimetre, half of the difference is made here
    disc_reach = width_at(grown, half)
    assert min(value, 2.0) < disc_reach < max(value, 2.0) + 0.02
    assert wider.is_empty == (value < 2.0)
    assert len(notes) == 1
    assert f"{value:.2f} mm wide" in notes[0]
    assert findings == []


@pytest.mark.parametrize("value", [6.0, 0.0])
def test_between_two_widths_the_border_has_no_step(value: float) -> None:
    grown = marked(value)[0]
    profile = np.array([width_at(grown, x) for x in np.arange(-29, 29, 0.25)])
    assert np.abs(np.diff(profile)).max() < 0.35


def test_where_the_mark_says_what_is_set_the_border_stays() -> None:
    grown, wider, notes, _ = marked(2.0)
    assert shapely.symmetric_difference(grown, ART.buffer(2.0, 64)).area < 0.05
    assert wider.is_empty
    assert len(notes) == 1


def test_a_rim_keeps_the_border_under_it() -> None:
    grown, _, notes, _ = marked(0.0, rim_mm=1.0, margin_mm=0.4)
    assert width_at(grown, -28) == pytest.approx(1.4, abs=0.02)
    assert "1.40 mm" in notes[0]


def test_a_plate_takes_wider_borders_only_and_a_mark_that_changes_nothing_is_told() -> None:
    grown, wider, notes, findings = marked(1.0, shape="hull")
    assert notes == []
    assert len(findings) == 1
    assert "changes nothing: base.shape is hull" in findings[0]
    grown, wider, notes, findings = marked(4.0, shape="hull")
    assert width_at(wider, -28) == pytest.approx(4.0, abs=0.02)
    assert width_at(grown, -28) == pytest.approx(4.0, abs=0.02)
    assert findings == []


def test_a_mark_that_finds_no_area_is_told_and_does_nothing() -> None:
    mark = Mark("border", at_mm=(50.0, 50.0), value=5.0)
    borders, notes, findings = bordered(ART, [ART], BaseSettings(border_mm=2.0), [mark])
    assert shapely.symmetric_difference(borders.grown, ART.buffer(2.0, 64)).area < 0.05
    assert notes == ()
    assert [item.code for item in findings] == ["mark-missed"]


@pytest.mark.parametrize("corners", ["miter", "bevel"])
def test_corners_where_a_mark_cuts_the_art_are_no_corners(corners: str) -> None:
    """The corners of the art far from the mark are as the setting says; the cuts add no tips."""
    grown = marked(5.0, corners=corners)[0]
    own = bordered(ART, [ART], BaseSettings(border_mm=2.0, corners=corners), [])[0].grown
    right = shapely.box(20, -40, 60, 40)
    assert shapely.symmetric_difference(grown.intersection(right), own.intersection(right)).area < 0.02
    left = bordered(ART, [ART], BaseSettings(border_mm=5.0, corners=corners), [])[0].grown
    assert shapely.difference(grown, left).area < 0.02
    far = shapely.box(-60, -40, -29, 40)
    assert shapely.symmetric_difference(grown.intersection(far), left.intersection(far)).area < 0.5
