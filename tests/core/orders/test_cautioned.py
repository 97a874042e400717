"""Cautions of many sets: each once, after the names of the sets that have it, and no other finding."""

from __future__ import annotations

from pathlib import Path

import pytest

from reliefsmith.findings import CODES
from reliefsmith.orders.cautioned import row_cautions
from reliefsmith.orders.finished import Finished
from reliefsmith.recipe import Recipe

from .madesets import finding

SHARP, SMALL = finding("sharp-tip", "A tip is sharp."), finding("small-part", "A part may be swallowed.")


def _set(name: str, *found: dict[str, object]) -> Finished:
    return Finished(name, Path(name), name, {"findings": list(found)}, Recipe())


def test_each_caution_is_told_once_after_the_sets_that_have_it() -> None:
    sets = [_set("1", SHARP), _set("2", SMALL, SHARP), _set("reeds", SMALL)]
    assert row_cautions(sets) == [
        "Rows 1, 2: A tip is sharp.",
        "Rows 2, reeds: A part may be swallowed.",
    ]
    assert row_cautions(sets[:1]) == ["Row 1: A tip is sharp."]


def test_a_set_that_is_cautioned_of_several_times_is_named_once() -> None:
    assert row_cautions([_set("1", SHARP, SHARP), _set("1", SHARP)]) == ["Row 1: A tip is sharp."]


def test_sizes_that_differ_are_told_apart() -> None:
    other = finding("small-part", "Another part may be swallowed.")
    assert len(row_cautions([_set("1", SMALL, other)])) == 2


@pytest.mark.parametrize("code", ["small-part", "sharp-tip", "magnet-caution", "pin-caution", "form-caution"])
def test_what_its_users_are_to_know_is_told(code: str) -> None:
    assert row_cautions([_set("1", finding(code, "Mind this."))]) == ["Row 1: Mind this."]


@pytest.mark.parametrize("code", ["gap-closed", "hole-weak", "pieces-near"])
def test_what_is_no_caution_for_its_users_is_left_out(code: str) -> None:
    assert code in CODES
    assert row_cautions([_set("1", finding(code, "Other words."), SHARP)]) == ["Row 1: A tip is sharp."]


def test_without_findings_there_is_nothing_to_say() -> None:
    assert row_cautions([]) == row_cautions([_set("1"), Finished("2", Path(), "2", {}, Recipe())]) == []
