"""The page of photographs that could not be used: each with its picture, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from .canvas import png_bytes
from .html import el, listing, section
from .page import asset, page, png_data

__all__ = ["Unread", "unread_html"]

_SHOWN_PX = 420  # longest side of a photograph on the page: enough to know it again


@dataclass(frozen=True, slots=True)
class Unread:
    """A photograph that could not be used.

    Parameters
    ----------
    number : int
        Of the photograph, by the order of their names.
    file : str
    why : str
        In a few words.
    image : PIL image or None
        Of mode RGB; None where it is no picture.
    """

    number: int
    file: str
    why: str
    image: Image.Image | None


def unread_html(unread: Sequence[Unread], missing: Sequence[int]) -> bytes:
    """Write the page as one self-contained HTML file in UTF-8.

    Parameters
    ----------
    unread : sequence of Unread
    missing : sequence of int
        Sheets of the list that no photograph shows.
    """
    ways = (
        "Photograph the sheet again, flat, whole, sharp, all four marks in view, and collect anew.",
        "Or crop it, read its number, which stands on it in digits, and give it a row of the table by hand.",
    )
    numbers = ", ".join(map(str, missing))
    body = el(
        "body",
        el("header", el("p", "A class", cls="kind"), el("h1", "Photographs that could not be used")),
        el(
            "main",
            section("ways", "What to do", listing(ways)),
            section("photographs", "Photographs", el("div", *map(_card, unread), cls="proofs")),
            *([section("missing", "Sheets that none shows", el("p", numbers))] if missing else []),
        ),
    )
    return page("Photographs that could not be used", body, asset("sheet.css") + asset("contact.css"))


def _card(one: Unread) -> str:
    shown = []
    if one.image is not None:
        small = one.image.copy()
        small.thumbnail((_SHOWN_PX, _SHOWN_PX))
        shown = [el("figure", el("img", src=png_data(png_bytes(small)), alt=f"Photograph {one.number}"))]
    words = one.why[:1].upper() + one.why[1:] + "."
    return el(
        "article",
        *shown,
        el("h2", f"Photograph {one.number}"),
        el("p", one.file),
        el("p", words),
        cls="small-proof",
    )
