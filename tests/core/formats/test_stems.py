"""A stem that every file system takes, and paths that stay on one line."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.stems import MAX_STEM_BYTES, printable, safe_stem


@settings(max_examples=500)
@given(st.text(st.characters(codec=None), max_size=60) | st.text("con.nul -_aé\u0301", max_size=8))
def test_any_text_becomes_a_safe_stem(name: str) -> None:
    stem = safe_stem(name)
    assert 1 <= len(stem.encode()) <= MAX_STEM_BYTES
    assert stem == unicodedata.normalize("NFC", stem)
    assert stem[0] not in " .-"
    assert stem[-1] not in " ."
    assert all(char in " ._-" or unicodedata.category(char)[0] in "LMN" for char in stem)
    assert safe_stem(stem) == stem


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("heron", "heron"),
        ("Kite Day_2.final-a", "Kite Day_2.final-a"),
        ("heron & reeds (1)", "heron _ reeds _1_"),
        ("../../etc/passwd", "_._.._etc_passwd"),
        ("-rf", "_rf"),
        (".hidden", "_hidden"),
        ("caf\u0065\u0301", "caf\u00e9"),
        ("鷺と葦", "鷺と葦"),
        ("कमल", "कमल"),
        ("हिन्दी", "हिन्दी"),  # vowel signs are marks
        ("com0", "_com0"),
        ("a\0b\nc", "a_b_c"),
        ("heron. . ", "heron"),
        ("CON", "_CON"),
        ("com1.tar.gz", "_com1.tar.gz"),
        ("console", "console"),
        ("", "relief"),
        (" . ", "relief"),
        ("x" * 300, "x" * 100),
        ("é" * 60, "é" * 50),
    ],
)
def test_known_names(name: str, stem: str) -> None:
    assert safe_stem(name) == stem


@given(st.text(st.characters(codec=None), max_size=20))
def test_paths_in_messages_stay_on_one_line(text: str) -> None:
    assert len(printable(text).splitlines()) <= 1
    assert len(printable(text)) == len(text)
