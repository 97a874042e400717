"""The contact page: a small proof of every set of a batch, and one place to sign for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from ..colorimetry import color_word, to_hex
from ..findings import count_words
from ..model import Approval
from ..model.arrays import Color
from ..polygons.cover import View
from .canvas import MM_PER_INCH, png_bytes
from .cautions import short_cautions
from .html import Markup, Piece, el, join, listing, section, swatch
from .page import asset, page, png_data
from .views import Face, color_picture, shadow_of
from .wording import AUDIENCE, row_words, scale_words, sides_words

__all__ = ["SmallProof", "contact_html"]

_ROOM_MM = (54.0, 46.0)
"""Of a picture on paper, three beside each other on A4 and on Letter."""
_SCALES = (1.0, 1 / 1.5, 1 / 2, 1 / 2.5, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10, 1 / 15, 1 / 20, 1 / 50)
_DPI = 200
_PAD_MM = 1.0
"""Room round a picture for its shadow, on paper."""
_CSS_DPI = 96


@dataclass(frozen=True, slots=True)
class SmallProof:
    """What the contact page shows of a set.

    Parameters
    ----------
    name : str
        A row's number, else the set's stem.
    face : Face
        The finished piece from the front.
    quantity : int
    size_mm : (float, float, float)
    colors : tuple of color
    code : str
        Of its own files.
    audience : str
    said : tuple of str
        Names and spelling, only where they were asked for.
    """

    name: str
    face: Face
    quantity: int
    size_mm: tuple[float, float, float]
    colors: tuple[Color, ...]
    code: str
    audience: str
    said: tuple[str, ...] = ()


def contact_html(proofs: Sequence[SmallProof], whole: Approval, cautions: Sequence[str]) -> bytes:
    """Write the contact page as one self-contained HTML file in UTF-8, to be printed on A4 or Letter.

    Parameters
    ----------
    proofs : sequence of SmallProof
        Drawn at one scale, the largest at which all fit.
    whole : Approval
        Of all sets together.
    cautions : sequence of str
        What the sets' own reports caution of.
    """
    scale = _scale(proofs)
    pieces = sum(proof.quantity for proof in proofs)
    title = f"{count_words(len(proofs), 'proof')}, {count_words(pieces, 'piece')}"
    lead = f"Every picture is {scale_words(scale)}. Look at each one; read back every letter and number."
    audiences = dict.fromkeys(proof.audience for proof in proofs)
    known = [f"{AUDIENCE[audience].capitalize()}: {short_cautions(audience)}" for audience in audiences]
    body = el(
        "body",
        el("header", el("p", "Proofs for approval", cls="kind"), el("h1", title), el("p", lead)),
        el(
            "main",
            el("div", *(_card(proof, scale) for proof in proofs), cls="proofs"),
            section("sign", "To sign", *_signing(whole)),
            section("cautions", "Good to know", listing([*known, *cautions])),
        ),
    )
    return page(f"Contact page: {title}", body, asset("sheet.css") + asset("contact.css"))


def _scale(proofs: Sequence[SmallProof]) -> float:
    """Return the largest scale at which every front has room."""
    widest = max(proof.face.bounds[2] - proof.face.bounds[0] for proof in proofs)
    highest = max(proof.face.bounds[3] - proof.face.bounds[1] for proof in proofs)
    room = min((_ROOM_MM[0] - 2 * _PAD_MM) / widest, (_ROOM_MM[1] - 2 * _PAD_MM) / highest)
    return next((scale for scale in _SCALES if scale <= room), room)


def _card(proof: SmallProof, scale: float) -> Markup:
    picture = _picture(proof.face, scale)
    width = round(picture.width * _CSS_DPI / _DPI)
    name = row_words(proof.name)
    image = el("img", src=png_data(png_bytes(picture)), alt=f"Front of {name}", width=str(width))
    chips = (el("span", swatch(to_hex(color)), color_word(color)) for color in proof.colors)
    count = count_words(proof.quantity, "piece")
    return el(
        "article",
        el("figure", image),
        el("h2", el("span", "☐ ", name), " ", el("small", proof.code)),
        *(el("p", words, cls="said") for words in proof.said),
        el("p", f"{count}, {sides_words(proof.size_mm)}", cls="small"),
        el("p", *(join(chip, " ") for chip in chips), cls="small"),
        cls="small-proof",
    )


def _picture(face: Face, scale: float) -> Image.Image:
    px_per_mm = scale * _DPI / MM_PER_INCH
    picture = color_picture(face, View.around(face.bounds, px_per_mm, pad_mm=_PAD_MM / scale))
    return Image.alpha_composite(shadow_of(picture, px_per_mm / 2), picture)


def _signing(whole: Approval) -> list[Piece]:
    code = el("p", "Code of all files together: ", el("b", whole.code))
    lines = ("All are right", "These rows are to be changed, and how", "Name", "Date")
    return [
        code,
        el("div", *(el("div", el("span", words), cls="line") for words in lines), cls="lines"),
    ]
