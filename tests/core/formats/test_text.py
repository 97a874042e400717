"""Numbers, markup and names as text: exact, escaped, safe."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.decimals import ROWS_AT_ONCE, exact_mm, filled, mm_text
from reliefsmith.formats.markup import xml_text
from reliefsmith.formats.setwriting import safe_stem
from reliefsmith.formats.stems import MAX_STEM_BYTES, printable

MICROMETRES = st.integers(-5_000_000, 5_000_000)


class TestDecimals:
    """Millimetres as decimals: Python's own decimal arithmetic is the reference."""

    @given(MICROMETRES)
    def test_text_is_the_exact_decimal_without_needless_zeros(self, um: int) -> None:
        text = mm_text(um / 1000)
        assert Decimal(text) == Decimal(um) / 1000
        assert not ("." in text and text.endswith(("0", ".")))
        assert "e" not in text
        assert text != "-0"

    @given(st.lists(MICROMETRES, min_size=1, max_size=20), st.floats(-1e-10, 1e-10))
    def test_noise_of_arithmetic_is_taken_off(self, um: list[int], noise: float) -> None:
        values = np.array(um) / 1000
        np.testing.assert_array_equal(exact_mm(values + noise), values)

    @given(st.lists(st.integers(-(10**9), 10**9), min_size=1, max_size=20))
    def test_points_off_the_grid_keep_their_nanometres(self, nm: list[int]) -> None:
        values = np.array(nm) / 1e6
        np.testing.assert_array_equal(exact_mm(values), values)

    @pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
    def test_what_is_no_number_is_refused(self, bad: float) -> None:
        with pytest.raises(ValueError, match="finite"):
            exact_mm(np.array([0.0, bad]))

    @pytest.mark.parametrize("count", [1, ROWS_AT_ONCE - 1, ROWS_AT_ONCE, ROWS_AT_ONCE + 1, 2 * ROWS_AT_ONCE])
    def test_rows_are_filled_in_order_whatever_their_count(self, count: int) -> None:
        rows = np.arange(2 * count).reshape(count, 2)
        assert filled("%d,%d ", rows) == "".join(f"{2 * i},{2 * i + 1} " for i in range(count))
        assert filled("%r,%r ", rows / 2) == "".join(f"{i},{i}.5 " for i in range(count))

    def test_no_rows_give_no_text(self) -> None:
        assert filled("%r,%r ", np.zeros((0, 2))) == ""


class TestMarkup:
    """User text in XML, read back by the standard library."""

    @settings(max_examples=300)
    @given(st.text(st.characters(codec=None), max_size=30))
    def test_any_text_comes_back_from_content_and_attribute(self, text: str) -> None:
        safe = xml_text(text)
        root = ET.fromstring(f'<a b="{safe}">{safe}</a>'.encode())
        allowed = "".join(char if _in_xml(char) else "\ufffd" for char in text)
        assert (root.text or "") == allowed.replace("\r\n", "\n").replace("\r", "\n")
        assert root.get("b") == allowed.replace("\r\n", " ").translate(str.maketrans("\t\n\r", "   "))
        assert len(root) == 0


def _in_xml(char: str) -> bool:
    """Char of XML 1.0, section 2.2."""
    code = ord(char)
    return code in (9, 10, 13) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000


class TestSafeStem:
    """A stem that every file system takes."""

    @settings(max_examples=500)
    @given(st.text(st.characters(codec=None), max_size=60) | st.text("con.nul -_aé\u0301", max_size=8))
    def test_any_text_becomes_a_safe_stem(self, name: str) -> None:
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
    def test_known_names(self, name: str, stem: str) -> None:
        assert safe_stem(name) == stem


@given(st.text(st.characters(codec=None), max_size=20))
def test_paths_in_messages_stay_on_one_line(text: str) -> None:
    assert len(printable(text).splitlines()) <= 1
    assert len(printable(text)) == len(text)
