"""The common-practice piece: time, purge and plastic of what a practitioner reports (no source).

70 mm wide, base 1.5 mm, motif 0.5 mm, 0.2 mm layers, a border of 0.25-0.5 mm round the motif, about 20
minutes on a current fast printer (actual a little more), colors split strictly by height, so that no purge
block is needed.
"""

from __future__ import annotations

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.checks.estimate import estimate
from reliefsmith.checks.inspect import inspect
from reliefsmith.checks.layerstack import layers_of_stack
from reliefsmith.model import Estimate, Inspection
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stack import stack

NAVY, WHITE = (31, 45, 77), (244, 244, 240)
REPORTED_MIN = 20.0

# Stated: 70 x 48 mm with round corners, 3,340 mm2 in all, a third of it under the motif. The machine is the
# default of the recipe: 5 mm3/s mean flow with all moves (a fast printer's peak is several times that),
# 6 s lost a layer, 60 s a change.
OUTLINE = shapely.box(-33, -22, 33, 22).buffer(2.0)
HOLE = shapely.Point(0, 17.5).buffer(2.5)
MOTIF = shapely.box(-24, -13, 24, 10)
RECIPE = Recipe.from_mapping({"heights": {"base_mm": 1.5, "motif_mm": 0.5}})


def _on_grid(shape: shapely.Geometry) -> shapely.Geometry:
    return shapely.set_precision(shape, 0.001)


@pytest.fixture(scope="module")
def found() -> Inspection:
    plan = plan_of(_on_grid(OUTLINE - HOLE), (WHITE, _on_grid(MOTIF)), color=NAVY)
    stacked = stack(plan, heights=RECIPE.heights, printer=RECIPE.printer)
    assert len(stacked.layer_tops_mm) == 10
    return inspect(
        plan,
        stacked,
        build(stacked),
        heights=RECIPE.heights,
        printer=RECIPE.printer,
        hang=RECIPE.hang,
        cost=RECIPE.cost,
        filaments=RECIPE.filaments,
        audience=RECIPE.audience,
    )


@pytest.fixture(scope="module")
def taken(found: Inspection) -> Estimate:
    return found.estimate


def test_about_twenty_minutes(taken: Estimate) -> None:
    assert 0.8 <= taken.time_min / REPORTED_MIN <= 1.3


def test_one_change_and_no_purge_block(taken: Estimate) -> None:
    assert taken.changes == 1
    assert taken.purge_mm3 == 0.0


def test_plastic(taken: Estimate) -> None:
    """White over navy gets the half layer: 1.4 and 0.6 mm."""
    by_hand = _on_grid(OUTLINE - HOLE).area * 1.4 + MOTIF.area * 0.6
    assert sum(taken.volume_mm3.values()) == pytest.approx(by_hand, rel=1e-9)
    assert taken.mass_g_total == pytest.approx(by_hand * 1.24e-3, rel=1e-9)


def test_nothing_stops_the_print(found: Inspection) -> None:
    assert all(item.severity != "stop" for item in found.findings)


def test_worked_example() -> None:
    """70 x 25 x 1.5 mm and 35 % of it 0.5 mm higher: 2.93125 cm3, 3.63475 g, 1.21867 m (worked out by hand).

    Flow alone takes 9.77 min at 5 mm3/s and 16.28 min at 3 mm3/s.
    """
    heights = {"heights": {"base_mm": 1.5, "motif_mm": 0.5, "layer_mm": 0.1, "first_layer_mm": 0.1}}
    recipe = Recipe.from_mapping(heights)
    plan = plan_of(shapely.box(0, 0, 70, 25), (WHITE, shapely.box(0, 0, 24.5, 25)), color=NAVY)
    stacked = stack(plan, heights=recipe.heights, printer=recipe.printer)
    parts, layers = build(stacked), layers_of_stack(stacked)
    for flow, minutes in ((5.0, 9.77), (3.0, 16.28)):
        bare = Recipe.from_mapping({"printer": {"flow_mm3_s": flow, "layer_s": 0.0, "change_s": 0.0}}).printer
        took = estimate(parts, layers, printer=bare, cost=recipe.cost)
        assert took.time_min == pytest.approx(minutes, abs=0.005)
        assert sum(took.volume_mm3.values()) == pytest.approx(2931.25, rel=1e-9)
        assert took.mass_g_total == pytest.approx(3.63475, rel=1e-9)
        assert sum(took.filament_mm.values()) == pytest.approx(1218.67, abs=0.01)
