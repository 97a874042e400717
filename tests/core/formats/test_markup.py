"""User text in XML, read back by the standard library."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.markup import xml_text


@settings(max_examples=300)
@given(st.text(st.characters(codec=None), max_size=30))
def test_any_text_comes_back_from_content_and_attribute(text: str) -> None:
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


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("<a & b>", "&lt;a &amp; b&gt;"),
        ('"it\'s"', "&quot;it&#39;s&quot;"),
        ("&lt;", "&amp;lt;"),
        ("\x1b[2J\ufffe\ud800", "\ufffd[2J\ufffd\ufffd"),
        ("\U0001fa81 鷺", "\U0001fa81 鷺"),
    ],
)
def test_known_texts(text: str, safe: str) -> None:
    assert xml_text(text) == safe
