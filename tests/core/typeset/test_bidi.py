"""The bidirectional algorithm against published cases; all of them in `tests/deep/test_typeset.py`."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest

from reliefsmith.typeset.bidi import closing_of, levels_of, visual_order

CASES = [
    line
    for line in (Path(__file__).parent / "data" / "bidi-cases.txt").read_text().splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize("case", CASES)
def test_levels_and_order_are_those_that_unicode_publishes(case: str) -> None:
    codes, asked, level, levels, order = case.split(";")
    text = "".join(chr(int(code, 16)) for code in codes.split())
    base, found = levels_of(text, None if asked == "2" else int(asked))
    assert base == int(level)
    assert found == [None if word == "x" else int(word) for word in levels.split()]
    assert visual_order(found) == [int(word) for word in order.split()]


def test_brackets_are_found_by_their_category() -> None:
    """BidiBrackets-15.0.0.txt has 64 opening brackets; that is what the rule over `unicodedata` gives."""
    found = {chr(code): closing_of(chr(code)) for code in range(0x11000) if closing_of(chr(code))}
    assert len(found) == 64
    assert all(unicodedata.category(partner) == "Pe" for partner in found.values())
    assert (found["["], found["{"], found["（"], found["\u2329"]) == ("]", "}", "）", "\u3009")


def test_a_name_between_latin_words_turns_by_itself() -> None:
    text = "Kite \u05d0\u05d1 7"
    assert [text[place] for place in visual_order(levels_of(text)[1])] == list("Kite 7 \u05d1\u05d0")
