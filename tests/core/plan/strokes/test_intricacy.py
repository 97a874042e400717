from __future__ import annotations

import re

import numpy as np
import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.plan.strokes import intricacy
from reliefsmith.plan.strokes.partition import sheet_of
from reliefsmith.plan.strokes.repair import Limits
from reliefsmith.polygons import as_multi
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe

from ..arts import BLUE, flat, repaired

RECIPE = Recipe()
LIMITS = Limits.of(RECIPE.motif, RECIPE.printer)


def stripes(wide: float, apart: float, count: int = 20, high: float = 30.0) -> shapely.MultiPolygon:
    step = wide + apart
    return as_multi(shapely.union_all([shapely.box(x, 0, x + wide, high) for x in step * np.arange(count)]))


def test_fine_stripes_by_the_hundred_are_refused_before_repair_and_wide_ones_are_not():
    """Their boundaries are 0.2 mm apart and 93 m long, 156,000 widths of a stroke; wide ones are as long."""
    with pytest.raises(GeometryError, match=r"^strokes and gaps under 0\.60 and 0\.50 mm fill the artwork"):
        drain(intricacy.plannable_steps(sheet_of([stripes(0.2, 0.2, 155, 300)]), LIMITS))
    drain(intricacy.plannable_steps(sheet_of([stripes(2, 2, 155, 300)]), LIMITS))


def test_what_counts_is_how_long_and_how_ragged_fine_places_are(monkeypatch):
    """20 stripes of 30 mm: 1,208 mm of boundary, 2,013 widths of 0.6 mm; 100 vertices; and ground."""
    fine = sheet_of([stripes(0.4, 2.0)])
    monkeypatch.setattr(intricacy, "_MOST", 3 * 2150)
    drain(intricacy.plannable_steps(fine, LIMITS))
    monkeypatch.setattr(intricacy, "_MOST", 3 * 2100)
    with pytest.raises(GeometryError):
        drain(intricacy.plannable_steps(fine, LIMITS))
    ragged = sheet_of([as_multi(shapely.segmentize(stripes(0.4, 2.0), 0.5))])
    monkeypatch.setattr(intricacy, "_MOST", 3 * 4000)
    with pytest.raises(GeometryError):
        drain(intricacy.plannable_steps(ragged, LIMITS))


def test_the_same_strokes_in_more_colors_count_more(monkeypatch):
    parts = np.array(stripes(0.4, 2.0).geoms)
    monkeypatch.setattr(intricacy, "_MOST", 3 * 2150)
    drain(intricacy.plannable_steps(sheet_of([as_multi(list(parts))]), LIMITS))
    with pytest.raises(GeometryError):
        drain(
            intricacy.plannable_steps(
                sheet_of([as_multi(list(parts[::2])), as_multi(list(parts[1::2]))]), LIMITS
            )
        )


def test_the_message_says_where_and_a_larger_width_helps(monkeypatch):
    monkeypatch.setattr(intricacy, "_MOST", 6300)
    art = stripes(0.4, 0.4)
    with pytest.raises(GeometryError) as told:
        repaired(flat((BLUE, art)))
    x, y = map(float, re.search(r"near \((-?\d+), (-?\d+)\) mm", str(told.value)).groups())
    assert art.buffer(1).contains(shapely.Point(x, y))
    assert "larger width" in str(told.value)
    drain(intricacy.plannable_steps(sheet_of([as_multi(shapely.affinity.scale(art, 2, 2))]), LIMITS))
