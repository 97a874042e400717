"""Heights: defaults in whole layers, tops within the motif, lists of colors, a field of hand relief."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.recipe.tables import ColorHeight

USUAL = HeightSettings()


@pytest.mark.parametrize("height", [USUAL.base_mm - USUAL.first_layer_mm, USUAL.motif_mm])
def test_defaults_are_whole_layers(height: float) -> None:
    layers = height / USUAL.layer_mm
    assert layers == pytest.approx(round(layers))
    assert round(layers) >= 3


def test_what_is_shaped_on_top_is_no_higher_than_the_motif() -> None:
    assert USUAL.edge_mm <= USUAL.motif_mm
    assert USUAL.crown_mm <= USUAL.motif_mm
    assert USUAL.least_mm <= USUAL.motif_mm
    assert USUAL.hand_range_mm == (0.0, USUAL.motif_mm)
    assert USUAL.foot_mm == 0


def test_single_colors_have_heights_of_their_own() -> None:
    rows = [{"color": "#D8392B", "height_mm": 1}, {"color": "#000000", "height_mm": 0.1}]
    heights = Recipe().with_values({"heights.colors": rows}).heights
    assert heights.colors == (ColorHeight("#d8392b", 1.0), ColorHeight("#000000", 0.1))
    for bad, words in (
        ([{"color": "red", "height_mm": 1}], "entry 1: color must be a color"),
        ([{"color": "#000000"}], "entry 1 needs height_mm"),
        ([{"color": "#000000", "height_mm": 0}], "entry 1: height_mm must be between 0.1 and 50 mm"),
        (rows * 5, "may list 8 tables at most"),
    ):
        with pytest.raises(RecipeError, match=f"^heights.colors {words}"):
            HeightSettings(colors=bad)


def test_steps_are_colors_from_the_base_up() -> None:
    assert HeightSettings(steps=["#AA0000", "#00aa00"]).steps == ("#aa0000", "#00aa00")
    assert USUAL.steps == ()


@pytest.mark.parametrize(
    "bad",
    [
        {"style": "floating"},
        {"face": "left"},
        {"top": "round"},
        {"split": "glue"},
        {"hand_reach": "below"},
        {"layer_mm": 0.03},
        {"edge_deg": 90},
        {"hand_step": 0},
        {"hand_origin": (0, 101)},
        {"foot_mm": -0.1},
    ],
)
def test_what_is_none_of_its_values_is_refused(bad: dict) -> None:
    with pytest.raises(RecipeError, match=f"heights.{next(iter(bad))} must be"):
        HeightSettings(**bad)


def test_hand_relief_is_placed_by_widths_or_by_the_picture() -> None:
    assert (USUAL.hand, USUAL.hand_origin, USUAL.hand_step) == ("", None, None)
    assert HeightSettings(hand_origin=(-100, 100), hand_step=1).hand_origin == (-100.0, 100.0)
