"""How settings are declared: what annotation and name say, what a table needs, mistakes by their place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe.settings import REQUIRED, Row, Section, from_mapping, setting, specs


@dataclass(frozen=True, slots=True)
class Tail(Row):
    NAME: ClassVar[str] = "kite.tails"
    color: str = setting(REQUIRED, "its color", kind="color")
    bows: int = setting(3, "bows on it", low=0, high=9)

    def fault(self) -> str:
        return "a tail of black has bows" if self.color == "#000000" and not self.bows else ""


@dataclass(frozen=True, slots=True)
class Kite(Section):
    NAME: ClassVar[str] = "kite"
    wide_mm: float = setting(40.0, "its width", low=5, high=90)
    lean_deg: float | None = setting(None, "its lean", low=-9, high=9)
    rope_mm: float = setting(1.0, "its rope", unit="m", low=0, high=9)
    shape: str = setting("round", "its shape", choices=("round", "long"))
    said: str = setting("", "what is on it", high=5)
    flies: bool = setting(True, "whether it flies")
    tails: tuple[Tail, ...] = setting((), "its tails", most=2, row=Tail)


def test_kind_and_unit_follow_from_annotation_and_name() -> None:
    known = specs(Kite)
    assert list(known) == ["wide_mm", "lean_deg", "rope_mm", "shape", "said", "flies", "tails"]
    assert [one.kind for one in known.values()] == [
        "number",
        "number",
        "number",
        "choice",
        "text",
        "flag",
        "tables",
    ]
    assert [one.unit for one in known.values()][:4] == ["mm", "deg", "m", ""]
    assert [name for name, one in known.items() if one.optional] == ["lean_deg"]
    assert specs(Tail)["bows"].kind == "integer"


def test_every_value_is_checked_when_it_is_made() -> None:
    assert Kite(wide_mm=50, tails=[{"color": "#AABBCC"}]).tails == (Tail("#aabbcc"),)
    assert Kite(lean_deg=None).lean_deg is None
    for bad in ({"wide_mm": 4.9}, {"wide_mm": None}, {"flies": 1}, {"said": "longer"}, {"shape": "oval"}):
        with pytest.raises(RecipeError, match=f"^kite.{next(iter(bad))}"):
            Kite(**bad)


def test_a_table_is_a_row_already_or_has_what_it_needs_and_no_more() -> None:
    row = Tail("#112233")
    assert Tail.entry("tails entry 1", row) is row
    assert Tail.entry("tails entry 1", {"color": "#112233"}) == row
    for bad, words in (
        (3, "tails entry 2 must be a table, got 3"),
        ({}, "tails entry 2 needs color: its color"),
        ({"colour": "#112233"}, "tails entry 2: unknown setting 'colour', did you mean color?"),
        ({"color": "#112233", "bows": 10}, "tails entry 2: bows must be between 0 and 9, got 10"),
        ({"color": "#000000", "bows": 0}, "tails entry 2: a tail of black has bows"),
    ):
        with pytest.raises(RecipeError) as caught:
            Tail.entry("tails entry 2", bad)
        assert str(caught.value) == words


def test_a_rule_over_all_values_is_told_by_the_name_of_the_list() -> None:
    with pytest.raises(RecipeError, match=r"^kite.tails: a tail of black has bows"):
        Tail("#000000", 0)
    with pytest.raises(TypeError):
        Tail()


def test_a_section_from_a_table_tells_of_unknown_keys_by_all_known_ones() -> None:
    assert from_mapping(Kite, {"wide_mm": 7}, []) == Kite(wide_mm=7)
    known = ["kite.wide_mm", "base.border_mm"]
    with pytest.raises(RecipeError, match=r"unknown setting kite.wide, did you mean kite.wide_mm\?"):
        from_mapping(Kite, {"wide": 7}, known)
    with pytest.raises(RecipeError, match=r"unknown setting kite.border, did you mean base.border_mm\?"):
        from_mapping(Kite, {"border": 7}, known)


def test_a_row_without_a_rule_has_no_fault() -> None:
    assert Row.fault(Tail("#112233")) == ""
