"""Tables as CSV, read back by the standard library: nothing becomes a formula, nothing is lost."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from itertools import chain

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.tablefile import csv_bytes


def read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("cell", ["=1+2", "+49", "-1", "@x", "\t=1", "  =1", "\uff1d1+2", "\r=1"])
def test_no_cell_is_taken_for_a_formula(cell: str) -> None:
    text = csv_bytes([(cell, "plain = text", 'say "so"', Decimal("-3.50"), 7)]).decode("utf-8-sig")
    ((first, *rest),) = list(csv.reader(io.StringIO(text, newline="")))
    assert first == f"'{cell}"
    assert rest == ["plain = text", 'say "so"', "-3.50", "7"]


TEXT = st.text(st.characters(codec="utf-8"), max_size=8)


@settings(max_examples=30)
@given(st.lists(st.lists(TEXT, min_size=2, max_size=4), max_size=4))
def test_every_text_comes_back_as_it_was_or_after_an_apostrophe(rows: list[list[str]]) -> None:
    found = read(csv_bytes(rows))
    assert [len(row) for row in found] == [len(row) for row in rows]
    for cell, back in zip(chain(*rows), chain(*found), strict=True):
        assert back in (cell, f"'{cell}")
        assert back.lstrip(" ")[:1] not in ("=", "+", "-", "@")


@pytest.mark.parametrize("cell", ["", "  ", "kite", "a=1", "1-2", "'quoted"])
def test_plain_text_is_left(cell: str) -> None:
    assert read(csv_bytes([(cell, "x")])) == [[cell, "x"]]


def test_numbers_are_written_to_the_last_digit_and_below_zero_without_an_apostrophe() -> None:
    assert read(csv_bytes([(-7, Decimal("-0.10"), Decimal("1E+3"))])) == [["-7", "-0.10", "1E+3"]]


def test_lines_end_as_rfc_4180_says_and_the_file_begins_with_its_mark() -> None:
    """RFC 4180, 2.1 and 2.6: lines end in CRLF; commas, quotes and ends of lines stand in quotes."""
    assert csv_bytes([("a,b", 'c"d'), ("e", "f\ng")]) == b'\xef\xbb\xbf"a,b","c""d"\r\ne,"f\ng"\r\n'
    assert csv_bytes([]) == b"\xef\xbb\xbf"
