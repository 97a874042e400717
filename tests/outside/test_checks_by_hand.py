"""A plate worked out by hand: layers, change, plastic, filament, time and price.

60 x 40 mm, 1.8 mm high, with a square opening of 4 x 4 mm; on it a bar of 40 x 15 mm, 0.6 mm high, in another
color. The machine is the recipe's default: 5 mm3/s, 6 s lost a layer, 60 s a change, 1.75 mm, 1.24 g/cm3, 25
a kg.

    layers    1.8 / 0.2 = 9 of the plate, 0.6 / 0.2 = 3 of the bar, 12 in all; one change, before layer 10
    plastic   (60 x 40 - 4 x 4) x 1.8 = 4291.2 mm3, 40 x 15 x 0.6 = 360 mm3, 4651.2 mm3 in all
    mass      4.6512 cm3 x 1.24 g/cm3 = 5.767488 g
    filament  4651.2 mm3 / (pi 1.75^2 / 4 = 2.405282 mm2) = 1933.74 mm
    time      4651.2 / 5 + 12 x 6 + 60 = 930.24 + 72 + 60 = 1062.24 s = 17.704 min
    price     5.767488 g x 25 / 1000 = 0.1442
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
from reliefsmith.solid.stacking import stack

NAVY, YELLOW = (27, 42, 73), (245, 184, 46)
PLATE = shapely.box(-30, -20, 30, 20) - shapely.box(-2, 14, 2, 18)
BAR = shapely.box(-20, -10, 20, 5)
PLAN = plan_of(PLATE, (YELLOW, BAR), color=NAVY)
RECIPE = Recipe.from_mapping({"heights": {"base_mm": 1.8, "motif_mm": 0.6}})
STACK = stack(PLAN, heights=RECIPE.heights, printer=RECIPE.printer)


@pytest.fixture(scope="module")
def found() -> Inspection:
    sections = {name: getattr(RECIPE, name) for name in ("heights", "printer", "hang", "cost", "filaments")}
    return inspect(PLAN, STACK, build(STACK), **sections, audience=RECIPE.audience)


@pytest.fixture(scope="module")
def taken(found: Inspection) -> Estimate:
    return found.estimate


def test_layers_and_one_change_without_purge(taken: Estimate) -> None:
    assert len(STACK.layer_tops_mm) == 12
    assert [change.layer for change in STACK.color_changes] == [10]
    assert (taken.changes, taken.purge_mm3) == (1, 0.0)


def test_plastic_and_filament(taken: Estimate) -> None:
    assert sorted(taken.volume_mm3.values()) == pytest.approx([360.0, 4291.2], rel=1e-9)
    assert taken.mass_g_total == pytest.approx(5.767488, rel=1e-9)
    assert sum(taken.filament_mm.values()) == pytest.approx(1933.74, abs=0.01)
    assert taken.cost == pytest.approx(0.1441872, rel=1e-9)


def test_time(taken: Estimate) -> None:
    assert taken.time_min == pytest.approx(17.704, rel=1e-9)


def test_nothing_stops_the_print(found: Inspection) -> None:
    assert all(item.severity != "stop" for item in found.findings)


@pytest.mark.parametrize(("flow", "minutes"), [(5.0, 15.504), (3.0, 25.84)])
def test_flow_alone(flow: float, minutes: float) -> None:
    """4651.2 / 5 = 930.24 s and 4651.2 / 3 = 1550.4 s, with nothing lost at layers and changes."""
    printer = Recipe.from_mapping({"printer": {"flow_mm3_s": flow, "layer_s": 0.0, "change_s": 0.0}}).printer
    took = estimate(build(STACK), layers_of_stack(STACK), printer=printer, cost=RECIPE.cost)
    assert took.time_min == pytest.approx(minutes, rel=1e-9)
