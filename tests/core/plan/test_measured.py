"""What the test piece showed of a printer changes the plan: least stroke, least gap, hole."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.recipe import Recipe

from .arts import BLACK, RED, flat, hung, repaired

PLATE = shapely.box(-20, -15, 20, 15)
BAR = shapely.box(-12, -0.2, 12, 0.2)
ON_PLATE = {"colors.base": "#0a0a0a"}


def _bar_width(recipe: Recipe) -> float:
    plan = repaired(flat((BLACK, PLATE), (RED, BAR)), recipe)
    (motif,) = plan.motifs
    _, low, _, high = shapely.intersection(motif.polygon, shapely.box(-5, -5, 5, 5)).bounds
    return high - low


def test_a_measured_stroke_takes_the_place_of_the_assumed_one() -> None:
    usual = Recipe().with_values(ON_PLATE)
    assert _bar_width(usual) == pytest.approx(0.6, abs=0.01)
    assert _bar_width(usual.with_values({"printer.least_stroke_mm": 0.4})) == pytest.approx(0.4, abs=0.002)
    assert _bar_width(usual.with_values({"printer.least_stroke_mm": 0.9})) == pytest.approx(0.9, abs=0.01)


def test_a_measured_gap_takes_the_place_of_the_assumed_one() -> None:
    halves = shapely.union_all([shapely.box(-12, -8, -0.2, 8), shapely.box(0.2, -8, 12, 8)])
    areas = flat((BLACK, PLATE), (RED, halves))

    def gap(recipe: Recipe) -> float:
        (motif,) = repaired(areas, recipe).motifs
        row = shapely.intersection(motif.polygon, shapely.LineString([(-15, 0), (15, 0)]))
        left, right = sorted(part.bounds for part in row.geoms)
        return float(right[0] - left[2])

    usual = Recipe().with_values(ON_PLATE)
    assert gap(usual) == pytest.approx(0.5, abs=0.01)
    assert gap(usual.with_values({"printer.least_gap_mm": 0.3})) == pytest.approx(0.4, abs=0.002)
    assert gap(usual.with_values({"printer.least_gap_mm": 0.8})) == pytest.approx(0.8, abs=0.01)


def test_holes_are_drawn_wider_by_what_the_printer_takes_away() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(20, 32)))
    plan = hung(disc, Recipe().with_values({"printer.hole_loss_mm": 0.3}))
    x, y = plan.hole.center_mm
    hole = next(ring for ring in plan.base.interiors if shapely.Polygon(ring).contains(shapely.Point(x, y)))
    left, _, right, _ = hole.bounds
    assert right - left == pytest.approx(5.3, abs=0.01)
    assert plan.hole.diameter_mm == pytest.approx(5.3)
    assert plan.hole.wall_mm >= 2.5 - 0.005
