"""Settings are declared once and checked on construction; the recipe goes to TOML and back."""

from __future__ import annotations

import math
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith import Recipe
from reliefsmith.errors import RecipeError
from reliefsmith.recipe.recipe import known_keys
from reliefsmith.recipe.settings import Spec, specs

ALL = [
    (name, key, spec) for name, section in Recipe().sections() for key, spec in specs(type(section)).items()
]
NUMBERS = [row for row in ALL if row[2].kind in {"number", "integer"}]


def test_defaults_survive_toml() -> None:
    recipe = Recipe()
    assert Recipe.from_mapping(tomllib.loads(recipe.to_toml())) == recipe
    assert Recipe.from_mapping(tomllib.loads(recipe.to_toml(with_help=True))) == recipe


def test_the_printed_recipe_names_every_setting_with_help() -> None:
    text = Recipe().to_toml(with_help=True)
    for _name, key, spec in ALL:
        lines = [line for line in text.splitlines() if line.lstrip("# ").startswith(f"{key} = ")]
        assert any(spec.help in line for line in lines), key


@pytest.mark.parametrize(("name", "key", "spec"), NUMBERS)
def test_numbers_hold_their_bounds(name: str, key: str, spec: Spec) -> None:
    assert spec.low is not None
    assert spec.high is not None
    whole = spec.kind == "integer"
    for value in (spec.low, spec.high):
        good = int(value) if whole else float(value)
        assert getattr(getattr(Recipe().with_values({f"{name}.{key}": good}), name), key) == good
    step = 1 if whole else max(1e-9, abs(spec.high) * 1e-9)
    for value in (spec.low - step, spec.high + step):
        bad = int(value) if whole else value
        with pytest.raises(RecipeError, match=rf"{name}\.{key} must be between"):
            Recipe().with_values({f"{name}.{key}": bad})


@pytest.mark.parametrize(("name", "key", "spec"), NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, True, "3", [1.0]])
def test_numbers_refuse_what_is_no_finite_number(name: str, key: str, spec: Spec, value: object) -> None:
    with pytest.raises(RecipeError, match=rf"{name}\.{key} must be"):
        Recipe().with_values({f"{name}.{key}": value})


@pytest.mark.parametrize(("name", "key", "spec"), [row for row in ALL if row[2].kind == "choice"])
def test_choices_list_what_works(name: str, key: str, spec: Spec) -> None:
    for word in spec.choices:
        assert getattr(getattr(Recipe().with_values({f"{name}.{key}": word}), name), key) == word
    with pytest.raises(RecipeError, match=f"must be one of {spec.choices[0]}"):
        Recipe().with_values({f"{name}.{key}": "no such word"})


@pytest.mark.parametrize(
    ("dotted", "value", "message"),
    [
        ("base.boarder_mm", 1.0, "unknown setting base.boarder_mm, did you mean base.border_mm?"),
        ("bse.border_mm", 1.0, "unknown setting bse.border_mm, did you mean base.border_mm?"),
        ("base.border_mm.x", 1.0, "unknown setting base.border_mm.x"),
        ("audience", "cats", "audience must be one of adults, children"),
        ("schema", 99, "schema must be 1"),
        ("colors.palette", ["red"], "colors.palette must be a color such as"),
        ("colors.merge", [["#ff0000"]], "colors.merge must be a list of pairs"),
        ("order.title", "two\nlines", "order.title must be one line"),
        ("base", 3, "base must be a table"),
    ],
)
def test_mistakes_are_named_in_one_line(dotted: str, value: object, message: str) -> None:
    with pytest.raises(RecipeError) as caught:
        Recipe().with_values({dotted: value})
    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)


def test_width_and_height_exclude_each_other_but_the_newer_one_replaces() -> None:
    with pytest.raises(RecipeError, match="cannot both be given"):
        Recipe.from_mapping({"size": {"width_mm": 40, "height_mm": 50}})
    recipe = Recipe().with_values({"size.height_mm": 50}).with_values({"size.width_mm": 40})
    assert (recipe.size.width_mm, recipe.size.height_mm) == (40.0, None)


def test_every_key_is_known_once() -> None:
    keys = known_keys()
    assert len(keys) == len(set(keys))
    assert {"size.width_mm", "colors.base", "heights.first_layer_mm", "hang.hardware", "audience"} <= set(
        keys
    )


@given(st.text(alphabet=st.characters(blacklist_categories=("Cs", "Cc")), max_size=120))
def test_text_survives_toml(text: str) -> None:
    recipe = Recipe().with_values({"order.title": text})
    assert Recipe.from_mapping(tomllib.loads(recipe.to_toml())) == recipe
