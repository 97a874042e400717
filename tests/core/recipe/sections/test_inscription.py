"""Texts of a recipe: which settings go together, and what is said where they do not."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from reliefsmith import Recipe
from reliefsmith.errors import RecipeError
from reliefsmith.recipe.sections import SHIPPED_FONTS, Inscription

POINT = {"at_mm": (0.0, -20.0)}


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


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"text": "  "}, "text is empty"),
        ({"font": ""}, "font is empty; name sans or rounded"),
        ({**POINT, "box_mm": (0, 0, 9, 9)}, "at_mm and box_mm cannot all be given; keep one"),
        ({"area": "area 7", "area_mm": (0, 0)}, "area and area_mm cannot all be given"),
        ({"area": "the sail"}, "area must be an area by its number"),
        ({"arc_mm": 20}, "arc_mm needs at_mm"),
        ({**POINT, "arc_mm": 5, "size_mm": 5}, "arc_mm must be more than the height of the letters"),
        ({**POINT, "arc_mm": -5, "size_mm": 6}, "arc_mm must be more than the height of the letters"),
        ({**POINT, "arc_mm": 0}, "arc_mm must be more than the height of the letters"),
        ({"box_mm": (0, 0, 0, 9)}, "box_mm has no width or height"),
        ({"box_mm": (0, 0, 9, -1)}, "box_mm has no width or height"),
        ({"place": "back", "relief": "raised"}, "letters on the back are sunk"),
        ({"place": "back", "area": "area 7"}, "area is one of the front"),
        ({"place": "back", "area_mm": (0, 0)}, "area is one of the front"),
        ({"place": "back", "mirror": True}, "letters on the back read from behind already"),
    ],
    ids=range(15),
)  # fmt: skip
def test_what_does_not_go_together_is_told(table: dict[str, Any], words: str) -> None:
    with pytest.raises(RecipeError, match=f"^lettering: {words}"):
        Inscription(**{"text": "MIRABEL", **table})


@pytest.mark.parametrize(
    "table",
    [
        {},
        POINT,
        {"box_mm": (-9, -9, 0.1, 0.1)},
        {"area": "area 7, red"},
        {"area_mm": (0, 0)},
        {**POINT, "arc_mm": -5.1, "size_mm": 5},
        {"place": "back", "relief": "sunk"},
        {"place": "back", **POINT},
        {"mirror": True, "relief": "raised"},
    ],
)
def test_what_goes_together_is_taken(table: dict[str, Any]) -> None:
    assert Inscription(**{"text": "MIRABEL", **table}).text == "MIRABEL"


@pytest.mark.parametrize(
    ("place", "relief", "is_sunk"),
    [("front", "auto", False), ("back", "auto", True), ("front", "sunk", True), ("front", "raised", False)],
)
def test_letters_are_sunk_where_they_are_asked_to_be_and_on_the_back(
    place: str, relief: str, is_sunk: bool
) -> None:
    assert Inscription("MIRABEL", place=place, relief=relief).is_sunk is is_sunk


def test_an_area_is_told_by_number_and_color() -> None:
    text = Inscription("MIRABEL", area="area 7, Red")
    assert (text.number, text.stated) == (7, "red")
    text = Inscription("MIRABEL")
    assert (text.number, text.stated) == (None, "")


def test_shipped_fonts_are_shipped() -> None:
    folder = files("reliefsmith_data") / "fonts"
    assert all((folder / file).is_file() for file in SHIPPED_FONTS.values())
    assert Inscription("MIRABEL").font in SHIPPED_FONTS
