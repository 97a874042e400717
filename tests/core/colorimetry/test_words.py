"""Words and hex codes for colors."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.colorimetry import color_word, parse_hex, to_hex, unique_names
from reliefsmith.errors import RecipeError

COLORS = st.tuples(*[st.integers(0, 255)] * 3)


@given(COLORS)
def test_hex_round_trip(color: tuple[int, int, int]) -> None:
    assert parse_hex(to_hex(color)) == color


@pytest.mark.parametrize(
    "text", ["", "1e8a8a", "#1e8a8", "#1e8a8a0", "#gg0000", " #1e8a8a", "#1e8a8a\n", "red"]
)
def test_other_text_is_refused_with_the_text_in_the_message(text: str) -> None:
    with pytest.raises(RecipeError, match='like "#1e8a8a"'):
        parse_hex(text)


@given(COLORS)
def test_words_are_safe_in_file_names(color: tuple[int, int, int]) -> None:
    assert re.fullmatch(r"[a-z]+", color_word(color))


# Everyday judgement (common practice, no source).
@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("#000000", "black"),
        ("#ffffff", "white"),
        ("#808080", "grey"),
        ("#cc1122", "red"),
        ("#0044aa", "blue"),
        ("#118833", "green"),
        ("#ffdd00", "yellow"),
        ("#ff7700", "orange"),
        ("#77441f", "brown"),
        ("#101a44", "navy"),
        ("#ff88bb", "pink"),
        ("#662299", "purple"),
    ],
)
def test_plain_words(text: str, word: str) -> None:
    assert color_word(parse_hex(text)) == word


@given(st.lists(COLORS, max_size=12))
def test_names_are_unique_and_in_order(colors: list[tuple[int, int, int]]) -> None:
    names = unique_names(colors)
    assert len(names) == len(colors) == len(set(names))
    for color, name in zip(colors, names, strict=True):
        assert name.split("-")[0] == color_word(color)


def test_the_second_of_a_word_is_numbered() -> None:
    assert unique_names([(250, 0, 0), (240, 10, 10), (0, 0, 0), (200, 20, 20)]) == (
        "red",
        "red-2",
        "black",
        "red-3",
    )
