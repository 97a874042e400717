"""What is said of a mistaken word or value: the one that was meant, how it is written, never a crash."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.recipe.hints import color_hint, flag_hint, nearest, number_hint, offered, shown, spelled
from reliefsmith.recipe.recipe import known_keys

KEYS = [key for key in known_keys() if "." in key]


@pytest.mark.parametrize("key", KEYS[::9])
def test_a_slip_of_one_letter_finds_the_key(key: str) -> None:
    """Two neighbors exchanged, one letter left out or doubled, dashes, the unit left out, capitals."""
    middle = len(key) - 3
    slips = {
        key[:middle] + key[middle + 1] + key[middle] + key[middle + 2 :],
        key[:middle] + key[middle:][1:],
        key[:middle] + key[middle] + key[middle:],
        key.replace("_", "-"),
        key.removesuffix("_mm"),
        key.upper(),
    }
    assert {spelled(slip, KEYS) for slip in slips} == {key}


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("colour.base", "colors.base"),
        ("base.color", "colors.base"),
        ("border.base", "base.border_mm"),
        ("border", "base.border_mm"),
        ("smoothing", "areas.smoothing"),
        ("rim", "base.rim_mm"),
        ("xyzzy", ""),
        ("", ""),
    ],
)
def test_turned_keys_and_last_parts_count_too(word: str, meant: str) -> None:
    assert spelled(word, KEYS) == meant
    assert nearest(word, KEYS) == (f", did you mean {meant}?" if meant else "")


def test_of_nothing_nothing_is_near() -> None:
    assert spelled("base", []) == ""
    assert offered("hang.size", ["hang.hole_mm", "hanger.at_mm", "x.y"]) == "; hang has hole_mm"
    assert offered("moon.size", ["hang.hole_mm", "hang.at_mm"]) == "; there are hang"


@given(st.one_of(st.text(max_size=80), st.integers(), st.lists(st.integers(), max_size=9)))
@settings(max_examples=30)
def test_a_bad_value_is_quoted_in_sixty_characters(value: object) -> None:
    text = shown(value)
    assert len(text) <= 60
    assert text == repr(value) or (text.endswith("...") and repr(value).startswith(text[:-3]))


def test_values_that_python_cannot_write_are_quoted_too() -> None:
    deep: list[object] = []
    for _ in range(100_000):
        deep = [deep]
    assert shown(deep) == "something nested too deep"
    assert shown(10**5000) == "a very long number"


@pytest.mark.parametrize(
    ("value", "unit", "whole", "hint"),
    [
        ("1,5", "mm", False, "; write 1.5"),
        ("-.5", "mm", False, "; write -.5"),
        ("3.", "mm", False, "; write 3"),
        ("68 MM", "mm", False, "; write 68"),
        ("68", "", True, "; write 68"),
        ("6.8", "", True, ""),
        ("6 cm", "mm", False, "; give it in mm, as a number alone"),
        ("6 pieces", "", False, "; write the number alone"),
        ("wide", "mm", False, ""),
        ("1.2.3", "mm", False, "; give it in mm, as a number alone"),
        (6, "mm", False, ""),
    ],
)
def test_a_text_with_a_number_is_told_as_one(value: object, unit: str, whole: bool, hint: str) -> None:
    if value == "1.2.3":
        assert "write" not in number_hint(value, unit, whole=whole)
    else:
        assert number_hint(value, unit, whole=whole) == hint


@pytest.mark.parametrize(
    ("value", "meant"),
    [
        *(("Yes", "true"), (" on", "true"), (1, "true"), ("NO", "false"), (0, "false"), ("off", "false")),
        *(("maybe", ""), (2, ""), (1.0, ""), (None, "")),
    ],
)
def test_words_for_true_and_false_are_known(value: object, meant: str) -> None:
    assert flag_hint(value) == (f"; write {meant}" if meant else "")


@pytest.mark.parametrize(
    ("value", "meant"),
    [("D8392B", "d8392b"), ("#F80", "ff8800"), (" f80 ", "ff8800"), ("#12345", ""), ("red", ""), (0, "")],
)
def test_colors_in_other_writings_are_known(value: object, meant: str) -> None:
    assert color_hint(value) == (f'; write "#{meant}"' if meant else "")
