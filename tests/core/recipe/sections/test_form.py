"""What a piece is to be used as: words in one line, of lengths that pages have room for."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.presets import load_preset, preset_names
from reliefsmith.recipe.sections import FormSettings


def test_a_recipe_is_of_no_form_unless_it_says_so() -> None:
    assert Recipe().form == FormSettings("", "", "", "", None)


@pytest.mark.parametrize(("key", "most"), [("kind", 40), ("about", 200), ("caution", 300), ("example", 40)])
def test_words_are_one_line_of_a_bounded_length(key: str, most: int) -> None:
    assert getattr(FormSettings(**{key: "x" * most}), key) == "x" * most
    for bad in ("x" * (most + 1), "two\nlines"):
        with pytest.raises(RecipeError, match=f"form.{key}"):
            FormSettings(**{key: bad})


@pytest.mark.parametrize("least", [4.9, 2001])
def test_the_least_side_is_one_that_an_artwork_can_have(least: float) -> None:
    with pytest.raises(RecipeError, match=r"form.least_mm must be between 5 and 2000 mm"):
        FormSettings(least_mm=least)
    assert FormSettings(least_mm=5).least_mm == 5


def test_forms_that_are_shipped_carry_an_artwork_of_their_own_size() -> None:
    forms = [load_preset(name) for name in preset_names()]
    assert sum(recipe.form.least_mm is not None for recipe in forms) > 5
    for recipe in forms:
        sides = [recipe.size.width_mm, recipe.size.height_mm, recipe.size.longest_mm]
        assert (recipe.form.least_mm or 0) <= max(side for side in sides if side is not None)
