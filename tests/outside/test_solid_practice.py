"""A usual piece: what its heights snap to and where its color changes (common practice, no source).

70 mm wide, base 1.5 mm, motif 0.5 mm, 0.2 mm layers; colors split by height. The total of 2.0 mm is exactly
10 layers, but 1.5 mm is 7.5 and 0.5 mm is 2.5: the interface is a tie.
"""

from __future__ import annotations

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.mesh import signed_volume
from reliefsmith.model import Stack
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

NAVY, WHITE = (31, 45, 77), (244, 244, 240)
PLATE, MOTIF = shapely.box(-35, -20, 35, 20), shapely.box(-24, -13, 24, 10)


def _stacked(base, motif, **heights: float) -> Stack:
    recipe = Recipe.from_mapping({"heights": {"base_mm": 1.5, "motif_mm": 0.5, **heights}})
    plan = plan_of(PLATE, (motif, MOTIF), color=base)
    return stack(plan, heights=recipe.heights, printer=recipe.printer)


@pytest.mark.parametrize(
    ("base", "motif", "layer", "interface"), [(NAVY, WHITE, 8, 1.4), (WHITE, NAVY, 9, 1.6)]
)
def test_the_tie_snaps_and_the_color_changes_once(base, motif, layer: int, interface: float) -> None:
    stacked = _stacked(base, motif)
    assert len(stacked.layer_tops_mm) == 10
    assert stacked.layer_tops_mm[-1] == 2.0
    (change,) = stacked.color_changes
    assert (change.layer, change.z_mm, change.color) == (layer, interface, motif)
    assert stacked.layer_tops_mm[layer - 2] == interface
    assert stacked.by_height


def test_the_note_says_what_was_asked_and_what_it_became() -> None:
    (said,) = _stacked(NAVY, WHITE).notes
    assert said.code == "heights-snapped"
    assert "base 1.5 to 1.4 mm" in said.message


def test_thinner_layers_need_no_snapping() -> None:
    stacked = _stacked(NAVY, WHITE, layer_mm=0.1, first_layer_mm=0.1)
    assert stacked.notes == ()
    assert (stacked.color_changes[0].layer, stacked.color_changes[0].z_mm) == (16, 1.5)


def test_a_first_layer_of_three_tenths_makes_it_a_tenth_higher() -> None:
    # 0.3 + 9 x 0.2 = 2.1 mm in all, 0.3 + 6 x 0.2 = 1.5 mm of base.
    stacked = _stacked(NAVY, WHITE, first_layer_mm=0.3)
    assert stacked.layer_tops_mm[-1] == 2.1
    assert (stacked.color_changes[0].layer, stacked.color_changes[0].z_mm) == (8, 1.5)


@pytest.mark.parametrize("style", ["raised", "flush", "sunk", "stepped"])
def test_parts_split_by_height_sum_up(style: str) -> None:
    """Volumes of the parts are area times height of what each style adds or takes."""
    recipe = Recipe.from_mapping({"heights": {"base_mm": 2.0, "motif_mm": 0.6, "style": style}})
    plan = plan_of(PLATE, (WHITE, MOTIF), color=NAVY)
    parts = build(stack(plan, heights=recipe.heights, printer=recipe.printer))
    total = sum(signed_volume(part.vertices, part.triangles) for part in parts)
    over_base = {"raised": 0.6, "flush": 0.0, "sunk": -0.6, "stepped": 0.8}[style]
    assert total == pytest.approx(PLATE.area * 2.0 + MOTIF.area * over_base, rel=1e-9)
