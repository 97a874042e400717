"""Least widths: of the recipe, wider for a wider nozzle, or as measured on the printer."""

from __future__ import annotations

import pytest

from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import MotifSettings, PrinterSettings

RECIPE = Recipe()


def test_a_wide_nozzle_scales_the_limits_up_and_a_fine_one_leaves_them():
    wide = Limits.of(RECIPE.motif, Recipe().with_values({"printer.nozzle_mm": 0.8}).printer)
    fine = Limits.of(RECIPE.motif, Recipe().with_values({"printer.nozzle_mm": 0.25}).printer)
    assert (wide.stroke, wide.gap, wide.dot) == pytest.approx((1.2, 1.0, 2.0))
    assert (fine.stroke, fine.gap, fine.dot) == pytest.approx((0.6, 0.5, 1.0))


def test_what_was_measured_on_the_printer_stands_whatever_its_nozzle() -> None:
    motif = MotifSettings(min_stroke_mm=0.7, min_gap_mm=0.6, min_dot_mm=1.1)
    printer = PrinterSettings(nozzle_mm=0.8, least_stroke_mm=0.9, least_gap_mm=0.45)
    assert Limits.of(motif, printer) == Limits(0.9, 0.45, pytest.approx(2.2), 0.8)
    one = PrinterSettings(nozzle_mm=0.4, least_gap_mm=0.3)
    assert Limits.of(motif, one) == Limits(0.7, 0.3, 1.1, 0.4)


def test_of_artwork_thought_enlarged_all_limits_are_smaller() -> None:
    assert Limits(0.6, 0.5, 1.0, 0.4).scaled(0.5) == Limits(0.3, 0.25, 0.5, 0.2)
