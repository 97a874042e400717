"""The shipped JSON Schema is made from the declarations, and says yes and no where the recipe does."""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from reliefsmith import Recipe
from reliefsmith.errors import RecipeError
from reliefsmith.recipe.schema import recipe_schema, schema_text

ROOT = Path(__file__).parents[3]
RECIPES = sorted([*ROOT.glob("samples/*.toml"), *ROOT.glob("shared/reliefsmith_data/presets/*.toml")])


def test_the_shipped_file_is_up_to_date() -> None:
    shipped = (files("reliefsmith_data") / "recipe-schema.json").read_text(encoding="utf-8")
    assert shipped == schema_text(), (
        "run: python -m reliefsmith.recipe.schema > shared/reliefsmith_data/recipe-schema.json"
    )


def test_the_schema_is_a_schema() -> None:
    """Source: JSON Schema draft 2020-12, its own meta-schema as the jsonschema package ships it."""
    jsonschema.Draft202012Validator.check_schema(recipe_schema())


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_shipped_recipes_are_valid(path: Path) -> None:
    jsonschema.validate(tomllib.loads(path.read_text(encoding="utf-8")), recipe_schema())


def test_the_default_recipe_is_valid() -> None:
    jsonschema.validate(json.loads(json.dumps(Recipe().as_mapping())), recipe_schema())


@pytest.mark.parametrize(
    "bad",
    [
        {"base": {"boarder_mm": 1}},
        {"base": {"border_mm": -1}},
        {"base": {"border_mm": "1"}},
        {"heights": {"style": "floating"}},
        {"colors": {"palette": ["red"]}},
        {"printer": {"bed_mm": [1]}},
        {"audience": "cats"},
        {"schema": 99},
        {"marks": [{"kind": "shout"}]},
    ],
)
def test_both_refuse(bad: dict[str, Any]) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(bad, recipe_schema())
    with pytest.raises(RecipeError):
        Recipe.from_mapping(bad)
