"""Presets put over a recipe: the piece is the preset's, the picture and the work stay."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from reliefsmith import Recipe
from reliefsmith.recipe.presets import load_preset, preset_names, with_preset

PRESETS = files("reliefsmith_data") / "presets"
MINE = Recipe().with_values(
    {
        "colors.count": 3,
        "marks": [{"kind": "erase", "at_mm": [1, 2]}],
        "heights.hand": "relief.tif",
        "order.title": "Kite Day",
        "base.shape": "hull",
        "hang.at_mm": [1, 2],
    }
)


@pytest.mark.parametrize("name", preset_names())
def test_the_piece_is_the_presets_and_the_picture_and_the_work_stay(name: str) -> None:
    made, preset = with_preset(MINE, name), load_preset(name)
    for section in ("form", "size", "base", "motif", "pieces", "hang"):
        assert getattr(made, section) == getattr(preset, section)
    assert made.audience == preset.audience
    single = tomllib.loads((PRESETS / f"{name}.toml").read_text(encoding="utf-8")).get("colors", {})
    assert made.colors == MINE.merged({"colors": single}).colors
    assert (made.marks, made.order) == (MINE.marks, MINE.order)
    assert made.heights == preset.merged({"heights": {"hand": "relief.tif"}}).heights
    assert made.lettering == preset.lettering


def test_single_settings_of_printer_and_picture_stand_over_the_recipe() -> None:
    fine = with_preset(MINE.with_values({"printer.nozzle_mm": 0.6, "printer.filaments": 4}), "fine-nozzle")
    assert (fine.printer.nozzle_mm, fine.printer.filaments) == (0.25, 4)


def test_what_a_preset_said_of_the_picture_and_the_work_goes_with_it() -> None:
    plain = Recipe()
    assert with_preset(with_preset(MINE, "bold"), "coaster").printer == plain.printer
    assert with_preset(with_preset(MINE, "stamp"), "coaster").artwork == plain.artwork
    mine = with_preset(MINE, "bold").with_values({"printer.nozzle_mm": 0.8, "areas.smoothing": 0.2})
    assert with_preset(mine, "coaster").printer.nozzle_mm == 0.8
    assert with_preset(mine, "coaster").areas.smoothing == 0.2


def test_own_words_stay_and_example_words_go() -> None:
    tagged = with_preset(MINE, "bag-tag")
    assert with_preset(tagged, "coaster").lettering == ()
    own = tagged.with_values({"lettering": [{"text": "Mirabel", "place": "back"}]})
    assert [item.text for item in with_preset(own, "luggage-tag").lettering] == ["Mirabel"]
