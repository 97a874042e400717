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


MARK = {"kind": "recolor", "at_mm": [1, -2.5], "value": "#D2322D"}
TRIANGLE = {"kind": "erase", "polygon_mm": [[0, 0], [1e-7, 3], [-2, 0.1]]}


@pytest.mark.parametrize("text", ["marks = {}", "{}"])
def test_marks_survive_toml_in_line_and_as_an_array_of_tables(text: str) -> None:
    recipe = Recipe().with_values({"marks": [MARK, TRIANGLE]})
    assert [mark.kind for mark in recipe.marks] == ["recolor", "erase"]
    assert recipe.marks[0].at_mm == (1.0, -2.5)
    assert recipe.marks[0].value == "#d2322d"
    rows = (
        '[{kind = "recolor", at_mm = [1, -2.5], value = "#d2322d"},'
        ' {kind = "erase", polygon_mm = [[0, 0], [1e-7, 3], [-2, 0.1]]}]'
        if "marks" in text
        else '[[marks]]\nkind = "recolor"\nat_mm = [1.0, -2.5]\nvalue = "#d2322d"\n'
        '[[marks]]\nkind = "erase"\npolygon_mm = [[0, 0], [1e-7, 3], [-2, 0.1]]\n'
    )
    assert Recipe.from_mapping(tomllib.loads(text.format(rows))) == recipe
    for with_help in (False, True):
        assert Recipe.from_mapping(tomllib.loads(recipe.to_toml(with_help=with_help))) == recipe
    assert Recipe.from_mapping(recipe.as_mapping()) == recipe


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ({}, "marks must be a list of tables"),
        ([3], "marks entry 1 must be a table, got 3"),
        ([MARK, {}], "marks entry 2 needs kind"),
        ([{**MARK, "valeu": "#000000"}], "marks entry 1: unknown setting 'valeu', did you mean value?"),
        (
            [{**MARK, "kind": "carve"}],
            "marks entry 1: kind must be one of erase, recolor, merge, open, replace, protect",
        ),
        ([{**MARK, "kind": "thicken"}], "marks entry 1: thicken takes as value the least stroke in mm"),
        ([{**MARK, "kind": "thicken", "value": 50}], "marks entry 1: thicken takes a value between 0.1"),
        ([{**MARK, "kind": "protect"}], "marks entry 1: protect takes no value"),
        ([{**MARK, "at_mm": [0, math.nan]}], "marks entry 1: at_mm must be a finite number"),
        ([{**MARK, "at_mm": [0, 2001]}], "marks entry 1: at_mm must be between -2000 and 2000 mm"),
        ([{**MARK, "at_mm": [0]}], "marks entry 1: at_mm must be two numbers"),
        ([{**MARK, "value": "red"}], "marks entry 1: value must be a color"),
        (
            [{**MARK, **TRIANGLE, "kind": "recolor"}],
            "marks entry 1: recolor needs at_mm, at or polygon_mm, and just one of them",
        ),
        ([{"kind": "erase"}], "marks entry 1: erase needs at_mm, at or polygon_mm, and just one"),
        ([{**MARK, "at": "area 7"}], "marks entry 1: recolor needs at_mm, at or polygon_mm, and just one"),
        ([{"kind": "erase", "at": "area x"}], "marks entry 1: at must be an area by its number, such as"),
        ([{"kind": "erase", "at": "the red one"}], "marks entry 1: at must be an area by its number"),
        ([{**MARK, "kind": "erase"}], "marks entry 1: erase takes no value"),
        ([{**TRIANGLE, "kind": "recolor"}], "marks entry 1: recolor needs value"),
        ([{**TRIANGLE, "kind": "merge"}], "marks entry 1: merge needs at_mm"),
        (
            [{**TRIANGLE, "polygon_mm": [[0, 0], [1, 1]]}],
            "marks entry 1: polygon_mm must have 3 to 500 points",
        ),
        ([{**TRIANGLE, "polygon_mm": [[0, 0]] * 501}], "marks entry 1: polygon_mm must have 3 to 500 points"),
        ([{**TRIANGLE, "polygon_mm": [[0, 0], [1, 1], 3]}], "marks entry 1: polygon_mm point 3 must be two"),
        ([MARK] * 101, "marks may list 100 tables at most, got 101"),
    ],
)
def test_mistakes_in_marks_name_the_entry(rows: object, message: str) -> None:
    with pytest.raises(RecipeError) as caught:
        Recipe().with_values({"marks": rows})
    assert str(caught.value).startswith(message)


SPOOL = {"name": 'Oda\'s "berry"', "color": "#D32020", "grams": 180, "finish": "silk", "opaque_mm": 0.6}


def test_the_stock_survives_toml() -> None:
    recipe = Recipe().with_values({"filaments.stock": [SPOOL, {"name": "night", "color": "#14213d"}]})
    berry, night = recipe.filaments.stock
    assert (berry.name, berry.color, berry.grams, berry.finish) == (
        'Oda\'s "berry"',
        "#d32020",
        180.0,
        "silk",
    )
    assert (night.grams, night.finish, night.opaque_mm) == (None, "matte", None)
    for with_help in (False, True):
        assert Recipe.from_mapping(tomllib.loads(recipe.to_toml(with_help=with_help))) == recipe
    assert Recipe.from_mapping(recipe.as_mapping()) == recipe


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ("PLA", "filaments.stock must be a list of tables"),
        ([{"name": "night"}], "filaments.stock entry 1 needs color"),
        (
            [{**SPOOL, "colour": "#000000"}],
            "filaments.stock entry 1: unknown setting 'colour', did you mean color?",
        ),
        ([{**SPOOL, "grams": -1}], "filaments.stock entry 1: grams must be between 0 and 100000 g"),
        ([{**SPOOL, "opaque_mm": math.inf}], "filaments.stock entry 1: opaque_mm must be a finite number"),
        ([{**SPOOL, "finish": "glowing"}], "filaments.stock entry 1: finish must be one of matte"),
        ([{**SPOOL, "name": "x" * 61}], "filaments.stock entry 1: name may have 60 characters"),
        ([{**SPOOL, "name": "two\nlines"}], "filaments.stock entry 1: name must be one line"),
        ([SPOOL, SPOOL], "filaments.stock names "),
        ([SPOOL] * 65, "filaments.stock may list 64 tables at most"),
    ],
)
def test_mistakes_in_the_stock_name_the_entry(rows: object, message: str) -> None:
    with pytest.raises(RecipeError) as caught:
        Recipe().with_values({"filaments.stock": rows})
    assert str(caught.value).startswith(message)


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


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"text": "Mirabel | "}, "text has an empty line"),
        ({"text": "a||b"}, "text has an empty line"),
        ({"text": "a|b", "at_mm": [0, 0], "arc_mm": 20}, "a text on an arc has one line"),
    ],
)
def test_lines_that_cannot_be_set_are_refused(table: dict, words: str) -> None:
    with pytest.raises(RecipeError, match=words):
        Recipe().with_values({"lettering": [table]})
