"""Steps: each covers what lies above it, in an order that is found or given, as thick as its color asks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.colorimetry import relative_luminance
from reliefsmith.colorimetry.hiding import HIDES, Coefficients, shown_share
from reliefsmith.polygons import merged
from reliefsmith.recipe.sections import FilamentSettings
from reliefsmith.solid.stacking import stack
from reliefsmith.solid.stepped import hidden_layers, step_layers
from sound import assert_closed

from .plans import GOLD, NAVY, PRINTER, RED, WHITE, heights_of, plan_of, styled

BASE = shapely.box(0, 0, 40, 30)
LEFT, RIGHT = shapely.box(2, 2, 20, 20), shapely.box(20, 2, 38, 12)
DOT = shapely.box(4, 22, 8, 26)
STEPS = ("#d32020", "#c9a227", "#ffffff")


def test_steps_nest_and_need_one_change_for_each_color() -> None:
    plan = plan_of(BASE, (RED, LEFT), (GOLD, RIGHT), (WHITE, DOT))
    stacked, _ = styled(plan, "stepped")
    steps = stacked.slabs[1:]
    assert stacked.by_height
    assert len(stacked.color_changes) == 3
    assert [change.color for change in stacked.color_changes] == [slab.color for slab in steps]
    for below, above in zip(stacked.slabs, steps, strict=False):
        assert above.bottom_mm == below.top
        assert above.polygon.difference(below.polygon).area == 0
    own = {motif.color: motif.polygon for motif in plan.motifs}
    for index, slab in enumerate(steps):
        later = merged([item.polygon for item in steps[index + 1 : index + 2]])
        assert slab.polygon.difference(later).symmetric_difference(own[slab.color]).area < 1e-9
    assert "order-chosen" in {item.code for item in stacked.notes}


@pytest.mark.parametrize(
    ("usual", "color", "below", "layers"),
    [
        (3, WHITE, NAVY, 4),  # light over dark hides less
        (3, NAVY, WHITE, 2),  # dark over light hides more
        (3, RED, NAVY, 3),
        (2, NAVY, WHITE, 2),  # two layers at least
        (1, NAVY, WHITE, 1),  # but no more than asked
    ],
)
def test_layers_of_a_step_follow_the_color_below(usual, color, below, layers) -> None:
    assert step_layers(usual, color, below) == layers


def test_a_measured_filament_gets_just_the_layers_that_hide_what_is_below() -> None:
    chalk = Coefficients("chalk", (40.0,) * 3, (0.2,) * 3, assumed=False)
    milk = Coefficients("milk", (4.0,) * 3, (0.02,) * 3, assumed=False)
    for filament in (chalk, milk):
        layers = hidden_layers(WHITE, NAVY, 0.2, [(WHITE, filament)])
        exact = next((n for n in range(1, 40) if shown_share(filament, 0.2 * n, NAVY) >= HIDES), 40)
        assert layers == min(max(exact, 2), 12)
    assert hidden_layers(NAVY, WHITE, 0.2, [(NAVY, chalk)]) is None  # dark over light
    assert hidden_layers(RED, NAVY, 0.2, [(WHITE, chalk)]) is None  # another filament


def test_a_step_in_a_measured_filament_is_as_high_as_it_must_be() -> None:
    plan = plan_of(shapely.box(-10, -10, 10, 10), (WHITE, shapely.box(-5, -5, 5, 5)))
    heights = replace(heights_of(2.0, 0.6), style="stepped")

    def step(over: str) -> int:
        row = {
            "name": "white",
            "color": "#ffffff",
            "thin_color": over,
            "thin_mm": 0.2,
            "thin_over": "#14213d",
        }
        stock = FilamentSettings(stock=(row,))
        stacked = stack(plan, heights=heights, printer=PRINTER, filaments=stock)
        return round((stacked.slabs[1].top - stacked.slabs[1].bottom_mm) / 0.2)

    assert step("#f6f6f6") < 4 < step("#a8a8a8")  # 4 where nothing was measured


def test_steps_that_the_recipe_gives_are_the_same_bands_in_every_piece() -> None:
    whole, _ = styled(plan_of(BASE, (GOLD, LEFT), (RED, RIGHT), (WHITE, DOT)), "stepped", steps=STEPS)
    without, parts = styled(plan_of(BASE, (WHITE, DOT), (RED, LEFT)), "stepped", steps=STEPS)
    lowest, _ = styled(plan_of(BASE, (RED, LEFT)), "stepped", steps=STEPS)
    bands = [(slab.color, slab.bottom_mm, slab.top) for slab in whole.slabs]
    assert [color for color, *_ in bands] == [NAVY, RED, GOLD, WHITE]
    assert [(slab.color, slab.bottom_mm, slab.top) for slab in without.slabs] == bands
    assert [(slab.color, slab.bottom_mm, slab.top) for slab in lowest.slabs] == bands[:2]
    assert whole.color_changes == without.color_changes
    assert without.slabs[2].polygon.equals(without.slabs[3].polygon)  # gold lies hidden under white
    assert without.slabs[1].polygon.area == pytest.approx(DOT.area + LEFT.area)
    for part in parts:
        assert_closed(part)


def test_a_color_that_the_steps_do_not_name_comes_last_and_is_told() -> None:
    stacked, _ = styled(plan_of(BASE, (RED, LEFT), ((40, 90, 200), RIGHT)), "stepped", steps=STEPS[:2])
    assert [slab.color for slab in stacked.slabs] == [NAVY, RED, GOLD, (40, 90, 200)]
    assert [item.code for item in stacked.findings] == ["color-unmatched"]
    fine, _ = styled(plan_of(BASE, (RED, LEFT)), "stepped", steps=STEPS[:2])
    assert fine.findings == ()


def test_colors_in_the_examples_differ_as_said() -> None:
    white, navy, red = (float(relative_luminance(np.array(c, np.uint8))) for c in (WHITE, NAVY, RED))
    assert white - navy > 0.25 > red - navy
