"""Photographs that could not be used: each with its picture, made small, and why."""

from __future__ import annotations

import base64
from io import BytesIO

import pytest
from PIL import Image

from reliefsmith.documents.unread_page import Unread, unread_html

from .pages import Page


def _pictures(page: Page) -> list[Image.Image]:
    return [
        Image.open(BytesIO(base64.b64decode(str(item["src"]).partition(",")[2]))) for item in page.all("img")
    ]


@pytest.mark.parametrize(
    ("size", "shown"), [((4000, 3000), (420, 315)), ((300, 900), (140, 420)), ((40, 30), (40, 30))]
)
def test_a_photograph_is_shown_small_and_stays_as_it_is(
    size: tuple[int, int], shown: tuple[int, int]
) -> None:
    image = Image.new("RGB", size, (200, 30, 30))
    page = Page(unread_html([Unread(3, "IMG_3.jpg", "no mark was found", image)], []))
    (picture,) = _pictures(page)
    assert picture.size == shown
    assert picture.convert("RGB").getpixel((1, 1)) == (200, 30, 30)
    assert image.size == size


def test_each_is_called_by_number_and_file_and_says_why_in_a_sentence() -> None:
    unread = [Unread(3, "a<b>.jpg", "no mark was found", None), Unread(5, "c.jpg", "", None)]
    page = Page(unread_html(unread, []))
    text = page.text()
    assert "Photograph 3 a<b>.jpg No mark was found." in text
    assert "Photograph 5" in text
    assert not page.all("b")
    assert len(page.all("article")) == 2
    assert not page.all("img")


def test_sheets_that_none_shows_are_listed_where_there_are_such() -> None:
    assert "Sheets that none shows 4, 17" in Page(unread_html([], [4, 17])).text()
    assert "Sheets that none shows" not in Page(unread_html([], [])).text()
