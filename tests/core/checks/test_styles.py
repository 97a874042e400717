"""Twelve plans in every style, read off the solids: sound on every layer, colors seen where asked."""

from __future__ import annotations

import itertools

import pytest

from core.plan.arts import COLORS, blobs, flat, hung
from reliefsmith.checks.estimate import colors_by_layer
from reliefsmith.checks.independent import check_parts
from reliefsmith.checks.layerstack import layers_of_stack
from reliefsmith.model import Part, Plan, Stack
from reliefsmith.model.arrays import Color
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import STYLES, stack
from seen import share_seen_right
from tiers import broad

NEVER = {"not-watertight", "parts-overlap", "not-one-piece", "motif-over-edge", "island-in-air", "overhang"}
SEEDS = range(12)


@pytest.fixture(scope="module")
def plans(unadvised: None) -> list[Plan]:
    """Shapes strewn over about 60 mm, in one to four colors."""
    found = []
    for seed in SEEDS:
        colors = COLORS[: 1 + seed % 4]
        shapes = blobs(3 + seed % 7, seed, 25, 14)
        found.append(hung(flat(*((colors[n % len(colors)], shape) for n, shape in enumerate(shapes)))))
    return found


def _in_tier(case: tuple[int, str]) -> bool:
    """Half of the styles for each plan, so that each style has plans of one to four colors."""
    seed, style = case
    return (seed + seed // 4 + list(STYLES).index(style)) % 2 == 0


@pytest.mark.parametrize(("seed", "style"), broad(itertools.product(SEEDS, STYLES), _in_tier))
def test_solids_in_every_style(plans: list[Plan], seed: int, style: str) -> None:
    recipe = Recipe.from_mapping({"heights": {"style": style}})
    stacked = stack(plans[seed], heights=recipe.heights, printer=recipe.printer)
    parts = build(stacked)
    found = check_parts(parts, printer=recipe.printer, heights=recipe.heights)
    assert not NEVER & {item.code for item in found}
    assert share_seen_right(plans[seed], parts, recipe.heights) >= 0.99
    holds_one = [len(set(colors)) == 1 for colors in _colors(stacked, parts)]
    assert stacked.by_height is all(holds_one)
    if style == "stepped":
        assert stacked.by_height


def _colors(stacked: Stack, parts: tuple[Part, ...]) -> list[list[Color]]:
    return colors_by_layer(layers_of_stack(stacked), {part.name: part.color for part in parts})
