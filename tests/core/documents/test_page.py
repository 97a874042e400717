"""A page that stands alone: its policy names the very style and script in it, by their hashes."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

import pytest

from reliefsmith.documents.html import Markup, el
from reliefsmith.documents.page import asset, page, png_data

from .pages import Page

STYLE, SCRIPT = "p { color: #22262b }", "let kite = 1 < 2;"


def _policy(html: bytes) -> dict[str, str]:
    (content,) = [item["content"] for item in Page(html).all("meta") if "http-equiv" in item]
    return dict(rule.split(" ", 1) for rule in str(content).split("; "))


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_the_policy_allows_style_and_script_by_their_hashes_and_pictures_within() -> None:
    """Source: Content Security Policy Level 3, hashes of inline style and script."""
    html = page("Kite", el("body", el("script", Markup(SCRIPT))), STYLE, SCRIPT)
    assert _policy(html) == {
        "default-src": "'none'",
        "img-src": "data:",
        "style-src": _hash(STYLE),
        "script-src": _hash(SCRIPT),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    assert ("style", STYLE) in Page(html).texts
    assert ("script", SCRIPT) in Page(html).texts


def test_without_a_script_none_is_allowed() -> None:
    assert _policy(page("Kite", el("body"), STYLE))["script-src"] == "'none'"


def test_a_title_is_text_and_the_page_says_its_letters_and_language() -> None:
    html = page("</title><b>größer", el("body"), "")
    parsed = Page(html)
    assert ("title", "</title><b>größer") in parsed.texts
    assert not parsed.all("b")
    assert parsed.all("html") == [{"lang": "en"}]
    assert {"charset": "utf-8"} in parsed.all("meta")
    assert html.startswith(b"<!DOCTYPE html>\n<html")


@pytest.mark.parametrize(
    "name", ["sheet.css", "contact.css", "beds.css", "quote.css", "ways.css", "classsheets.css"]
)
def test_styles_lie_beside_the_code_and_ask_for_nothing(name: str) -> None:
    text = asset(name)
    assert text == (files("reliefsmith.documents") / name).read_text(encoding="utf-8").replace("\r\n", "\n")
    assert "url(" not in text
    assert "@import" not in text


def test_a_picture_stands_in_the_page_whole() -> None:
    data = bytes(range(256))
    head, _, body = png_data(data).partition(",")
    assert head == "data:image/png;base64"
    assert base64.b64decode(body) == data
