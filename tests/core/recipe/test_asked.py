"""What a command's words ask for: the later over the earlier, values as TOML where they are that."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.asked import asked_over, asked_recipe, assignment, parsed
from reliefsmith.recipe.presets import load_preset


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "kite.toml"
    path.write_text(
        "[size]\nwidth_mm = 40\n[base]\nborder_mm = 3\n[cost]\ntax = 0.2\n[heights]\nhand = 'k.tiff'\n"
    )
    return path


def test_nothing_asked_is_the_default() -> None:
    assert asked_recipe(None, None) == Recipe()


def test_the_later_stands_over_the_earlier(file: Path) -> None:
    """Preset, file, flags, single settings: each says something that the next one says again."""
    preset = load_preset("tag")
    assert asked_recipe(None, "tag") == preset
    with_file = asked_recipe(file, "tag")
    assert (with_file.base.border_mm, with_file.size.width_mm) == (3.0, 40.0)
    assert with_file.hang == preset.hang
    flagged = asked_recipe(file, "tag", width=50, colors=3)
    assert (flagged.size.width_mm, flagged.colors.count, flagged.base.border_mm) == (50.0, 3, 3.0)
    last = asked_recipe(
        file, "tag", width=50, sets=["size.width_mm=60", "base.border_mm=1", "base.border_mm=2"]
    )
    assert (last.size.width_mm, last.base.border_mm) == (60.0, 2.0)
    assert asked_recipe(file, None, height=33).size.width_mm is None


def test_files_are_found_from_the_folder_of_the_recipe(file: Path) -> None:
    assert Path(asked_recipe(file, None).heights.hand) == file.parent / "k.tiff"


def test_entries_of_lists_are_set_one_by_one() -> None:
    recipe = asked_recipe(None, None, sets=["marks.1.kind=erase", "marks.1.at=area 3"])
    assert [(mark.kind, mark.number) for mark in recipe.marks] == [("erase", 3)]
    words = ["lettering.1.size_mm=4", "size.width_mm=40", "lettering.1.text=A 7", "lettering.1.text=A 8"]
    text = asked_recipe(None, None, sets=words).lettering[0]
    assert (text.text, text.size_mm) == ("A 8", 4.0)
    with pytest.raises(RecipeError, match="marks entry 1: erase needs at_mm"):
        asked_recipe(None, None, sets=["marks.1.kind=erase"])


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        ({"width": 40, "height": 40}, "--width and --height cannot both be given"),
        ({"colors": 0}, "--colors must be between 1 and 8, got 0"),
        ({"colors": 9}, "--colors must be between 1 and 8, got 9"),
        ({"sets": ["base.border_mm"]}, "--set needs SECTION.KEY=VALUE"),
        ({"sets": [" =1"]}, "--set needs SECTION.KEY=VALUE"),
        ({"sets": ["base.boarder_mm=1"]}, "did you mean base.border_mm"),
    ],
)
def test_words_that_ask_for_nothing_are_refused(flags: dict, words: str) -> None:
    with pytest.raises(RecipeError, match=words):
        asked_recipe(None, None, **flags)
    assert asked_recipe(None, None, colors=1).colors.count == 1
    assert asked_recipe(None, None, colors=8).colors.count == 8


def test_of_finished_sets_only_the_work_is_asked_anew(file: Path) -> None:
    own = Recipe().with_values({"base.border_mm": 1.5, "order.quantity": 7})
    asked = asked_over(own, file, ["printer.nozzle_mm=0.6", "beds.spacing_mm=3", "base.border_mm=9"])
    assert (asked.cost.tax, asked.printer.nozzle_mm, asked.beds.spacing_mm) == (0.2, 0.6, 3.0)
    assert asked.order.quantity == 7
    work = {"cost": own.cost, "printer": own.printer, "beds": own.beds}
    assert {name: getattr(asked, name) for name, _ in own.sections() if name not in work} == {
        name: getattr(own, name) for name, _ in own.sections() if name not in work
    }
    assert asked_over(own, None, None) == own


@pytest.mark.parametrize("text", ["1.5", "-2", "true", '"a b"', "[1, 2]", "{a = 1}", "'#aabbcc'", "0x10"])
def test_what_is_toml_means_what_toml_says(text: str) -> None:
    assert parsed(text) == tomllib.loads(f"v = {text}")["v"]
    assert assignment(f" a.b = {text}") == {"a.b": parsed(text)}


@pytest.mark.parametrize(
    "text", ["circle", "#aabbcc", "1.5 mm", "a = b", "1\nb = 2", "", "[" * 4000, "9" * 5000]
)
def test_what_is_none_is_text(text: str) -> None:
    assert parsed(text) == text
    assert assignment(f"a.b={text}") == {"a.b": text}
