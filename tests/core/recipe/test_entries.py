"""Single settings in a recipe's lists: found by number, changed in place, added at the end, without a gap."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.entries import keys_beside, spec_at, with_entries
from reliefsmith.recipe.recipe import known_keys, spec_of
from reliefsmith.recipe.settings import specs
from reliefsmith.recipe.tables import ColorHeight, Mark, Spool

TWO = Recipe().with_values(
    {"marks": [{"kind": "erase", "at_mm": [1, 2]}, {"kind": "protect", "at_mm": [3, 4]}]}
)


def test_every_setting_is_known_by_its_key() -> None:
    assert all(spec_at(key) == spec_of(key) for key in known_keys() if key != "schema")
    assert spec_at("schema") is None


@pytest.mark.parametrize(
    ("name", "row"), [("marks", Mark), ("filaments.stock", Spool), ("heights.colors", ColorHeight)]
)
def test_settings_of_a_table_are_known_by_its_number(name: str, row: type) -> None:
    for number in (1, 7, 9999):
        assert {key: spec_at(f"{name}.{number}.{key}") for key in specs(row)} == specs(row)
    assert keys_beside(f"{name}.3.x") == [f"{name}.3.{key}" for key in specs(row)]


@pytest.mark.parametrize(
    "key",
    ["marks.0.kind", "marks.01.kind", "marks.10000.kind", "marks.1.kinds", "base.1.shape", "marks.kind"],
)
def test_what_is_no_entry_is_unknown(key: str) -> None:
    assert spec_at(key) is None
    if "kinds" not in key:
        assert keys_beside(key) == []


def test_an_entry_is_changed_and_the_others_stay() -> None:
    found = with_entries(TWO, {"marks.2.at_mm": [5, 6], "base.border_mm": 2})
    assert [(mark.kind, mark.at_mm) for mark in found.marks] == [("erase", (1, 2)), ("protect", (5, 6))]
    assert found.base.border_mm == 2
    assert TWO.marks[1].at_mm == (3.0, 4.0)


def test_the_next_number_adds_an_entry_whatever_the_order_of_the_values() -> None:
    values = {
        "marks.4.kind": "link",
        "marks.4.at_mm": [0, 0],
        "marks.3.at_mm": [7, 8],
        "marks.3.kind": "erase",
    }
    found = with_entries(TWO, values)
    assert [mark.kind for mark in found.marks] == ["erase", "protect", "erase", "link"]


def test_a_gap_between_numbers_is_refused() -> None:
    with pytest.raises(RecipeError, match=r"marks.4.kind is given, and marks has 2; number them"):
        with_entries(TWO, {"marks.4.kind": "erase"})


def test_entries_go_into_the_list_that_is_given_with_them() -> None:
    stock = [{"name": "night", "color": "#14213d"}]
    found = with_entries(Recipe(), {"filaments.stock.2.name": "sun", "filaments.stock.2.color": "#ffcc00",
                                    "filaments.stock.1.grams": 5, "filaments.stock": stock})  # fmt: skip
    assert [(spool.name, spool.grams) for spool in found.filaments.stock] == [("night", 5), ("sun", None)]
    assert stock == [{"name": "night", "color": "#14213d"}]


def test_a_table_of_an_unknown_setting_is_refused_as_everywhere() -> None:
    with pytest.raises(RecipeError, match="unknown setting"):
        with_entries(TWO, {"marks.1.kinds": "erase"})
