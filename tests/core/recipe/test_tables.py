"""Tables that a recipe lists: marks and their values, areas by number, filaments and their readings."""

from __future__ import annotations

import math
import tomllib

import pytest

from reliefsmith import Recipe
from reliefsmith.errors import RecipeError
from reliefsmith.recipe.tables import (
    AREA_KINDS,
    LINK_KINDS,
    MARK_KINDS,
    OUTLINE_KINDS,
    STROKE_KINDS,
    Mark,
    Spool,
    area_named,
    named,
)

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


PLACE = {"at_mm": (0.0, 0.0)}


def test_each_kind_of_mark_acts_somewhere() -> None:
    assert set(AREA_KINDS) | set(OUTLINE_KINDS) | set(STROKE_KINDS) | set(LINK_KINDS) == set(MARK_KINDS)
    assert not set(AREA_KINDS) & {*OUTLINE_KINDS, *STROKE_KINDS, *LINK_KINDS}


@pytest.mark.parametrize("kind", [name for name, kind in MARK_KINDS.items() if kind.value == "mm"])
def test_a_value_in_millimetres_holds_its_bounds(kind: str) -> None:
    low, high = MARK_KINDS[kind].low, MARK_KINDS[kind].high
    for value in (low, high):
        mark = Mark(kind, **PLACE, value=value)
        assert (mark.value_mm, mark.value_color) == (value, None)
    for value in (low - 0.01, high + 0.01):
        with pytest.raises(RecipeError, match="between"):
            Mark(kind, **PLACE, value=value)
    with pytest.raises(RecipeError, match="takes as value"):
        Mark(kind, **PLACE, value="#112233")


@pytest.mark.parametrize("kind", [name for name, kind in MARK_KINDS.items() if kind.value == "color"])
def test_a_value_that_is_a_color_is_no_number(kind: str) -> None:
    mark = Mark(kind, at="area 7", value="#AABBCC")
    assert (mark.value_color, mark.value_mm) == ("#aabbcc", None)
    with pytest.raises(RecipeError, match='such as "#1b2a49"'):
        Mark(kind, **PLACE, value=2.0)


def test_only_lettering_set_anew_has_words_and_it_needs_them() -> None:
    triangle = ((0, 0), (9, 0), (0, 9))
    assert Mark("replace", polygon_mm=triangle, words="TOBIN").words == "TOBIN"
    for bad in (
        {"polygon_mm": triangle, "words": "  "},
        {**PLACE, "words": "TOBIN"},
        {"polygon_mm": triangle},
    ):
        with pytest.raises(RecipeError, match="replace needs polygon_mm round the lettering, and words"):
            Mark("replace", **bad)
    with pytest.raises(RecipeError, match="erase takes no words"):
        Mark("erase", polygon_mm=triangle, words="TOBIN")


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("area 7", (7, "")),
        ("AREA 12, Navy-2", (12, "navy-2")),
        ("area 3,#D2322D", (3, "#d2322d")),
        ("area 1234567", None),
        ("area 7,  red", None),
        ("area 7, light red", None),
        ("see area 7", None),
        ("", None),
        (None, None),
    ],
)
def test_an_area_is_known_by_its_number_and_perhaps_its_color(
    words: str | None, meant: tuple[int, str] | None
) -> None:
    assert area_named(words) == meant
    if words and meant:
        mark = Mark("erase", at=words)
        assert (mark.number, mark.stated) == meant


def test_marks_are_counted_by_kind() -> None:
    marks = [Mark(kind, **PLACE) for kind in ("erase", "protect", "erase")]
    assert named(marks) == list(zip(["erase mark 1", "protect mark 1", "erase mark 2"], marks, strict=True))
    place = Mark("erase", **PLACE)
    assert (place.number, place.stated) == (None, "")


@pytest.mark.parametrize("given", [1, 2])
def test_a_reading_of_a_thin_layer_is_whole_or_none(given: int) -> None:
    reading = {"thin_color": "#888888", "thin_mm": 0.4, "thin_over": "#000000"}
    assert Spool("night", "#14213d", **reading).thin_mm == 0.4
    with pytest.raises(RecipeError, match="make one reading"):
        Spool("night", "#14213d", **dict(list(reading.items())[:given]))
