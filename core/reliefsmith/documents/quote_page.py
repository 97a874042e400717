"""The quote for the customer and its reckoning for the shop, as pages and as rows of a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..colorimetry import to_hex
from ..findings import count_words
from ..formats.tablefile import Cell
from ..model.arrays import Color
from ..model.price import CostLine, Price, cents
from ..polygons.cover import View
from ..recipe.sections import CostSettings, OrderSettings
from ..recipe.settings import specs
from .canvas import png_bytes
from .cautions import short_cautions
from .html import Markup, Piece, el, facts, listing, section, swatch, table
from .page import asset, page, png_data
from .views import Face, color_picture
from .wording import AUDIENCE, row_words, sides_words

__all__ = ["Item", "QuoteFacts", "quote_html", "quote_rows", "reckoning_html", "reckoning_rows"]

_SHOWN_PX = 72
"""Side of a small front as shown; it has twice as many pixels."""
_HEAD = ("Pieces", "Each", "Without tax", "Tax", "To pay")


@dataclass(frozen=True, slots=True)
class Item:
    """One set of an order: what it is called, its front, how many, its size, its colors."""

    name: str
    face: Face
    quantity: int
    size_mm: tuple[float, float, float]
    colors: tuple[Color, ...]


@dataclass(frozen=True, slots=True)
class QuoteFacts:
    """What a quote says beside prices.

    Parameters
    ----------
    order : settings
        What all sets of it have alike.
    cost : settings
    items : tuple of Item
    audiences, cautions : tuple of str
    """

    order: OrderSettings
    cost: CostSettings
    items: tuple[Item, ...]
    audiences: tuple[str, ...]
    cautions: tuple[str, ...]


def quote_html(about: QuoteFacts, price: Price, others: Sequence[Price]) -> bytes:
    """Write the customer's page: what is made, what it costs, at other quantities too, and until when."""
    order, currency = about.order, about.cost.currency
    title = order.title or f"{count_words(price.pieces, 'piece')} to order"
    said: list[tuple[str, Piece]] = [
        ("For", order.customer),
        ("Your reference", order.reference),
        ("Our order", order.code),
        ("Wanted by", order.deadline),
        ("Valid until", about.cost.valid_until),
    ]
    tax = f"tax of {about.cost.tax * 100:g} %" if about.cost.tax else "no tax"
    others_are = f", the others are of its {len(about.items)} sets in turn" if len(about.items) > 1 else ""
    caption = f"Prices in {currency}, with {tax}; the first line is this order{others_are}"
    rows = [_price_row(one) for one in _different(price, others)]
    body = el(
        "body",
        el("header", el("p", "Quote", cls="kind"), el("h1", title), facts([row for row in said if row[1]])),
        el(
            "main",
            section("price", "Price", table(_HEAD, rows, caption=caption)),
            section("pieces", "What is made", _items(about), *_as_ordered(order)),
            section("terms", "Good to know", listing(_terms(about))),
        ),
    )
    return page(f"Quote: {title}", body, asset("sheet.css") + asset("quote.css"))


def quote_rows(about: QuoteFacts, price: Price, others: Sequence[Price]) -> Iterator[Sequence[Cell]]:
    """Give the customer's page as rows of a table."""
    order = about.order
    said = (("title", order.title), ("for", order.customer), ("reference", order.reference))
    more = (("order", order.code), ("wanted by", order.deadline), ("valid until", about.cost.valid_until))
    yield from ((name, words) for name, words in (*said, *more) if words)
    yield ("pieces", "each", "without tax", "tax", "to pay", "currency")
    for one in _different(price, others):
        yield (one.pieces, *map(cents, (one.each, one.net, one.tax, one.total)), about.cost.currency)


def reckoning_html(about: QuoteFacts, price: Price, others: Sequence[Price]) -> bytes:
    """Write the shop's page: every line of the reckoning, for the order and for other quantities."""
    prices = _different(price, others)
    head = ("", "This order", *(count_words(one.pieces, "piece") for one in prices[1:]))
    lines: list[list[Piece]] = [
        [line.what, *(_amount(one.lines[number]) for one in prices)]
        for number, line in enumerate(price.lines)
    ]
    sums: list[list[Piece]] = [
        [name, *(el("b", str(cents(getattr(one, key)))) for one in prices)] for name, key in _SUMS
    ]
    laid: list[list[Piece]] = [
        [name, *(str(getattr(one, key)) for one in prices)]
        for name, key in (("Pieces", "pieces"), ("Beds", "beds"), ("Color changes", "changes"))
    ]
    body = el(
        "body",
        el(
            "header",
            el("p", "Reckoning, for the shop", cls="kind"),
            el("h1", f"Quote in {about.cost.currency}"),
        ),
        el(
            "main",
            section("lines", "From cost to price", table(head, [*laid, *lines, *sums], caption=_CAPTION)),
            section("numbers", "Numbers of the shop", *_numbers(about.cost)),
        ),
    )
    return page("Reckoning of a quote", body, asset("sheet.css") + asset("quote.css"))


def reckoning_rows(about: QuoteFacts, price: Price, others: Sequence[Price]) -> Iterator[Sequence[Cell]]:
    """Give the reckoning as rows of a table: for each line an amount and a price at each quantity."""
    prices = _different(price, others)
    yield (
        "",
        *(
            cell
            for one in prices
            for cell in (f"{count_words(one.pieces, 'piece')}: amount", about.cost.currency)
        ),
    )
    for name, key in (("beds", "beds"), ("color changes", "changes")):
        yield (name, *(cell for one in prices for cell in (getattr(one, key), "")))
    for number, line in enumerate(price.lines):
        own = [one.lines[number] for one in prices]
        yield (line.what, *(cell for other in own for cell in (other.amount, cents(other.price))))
    for name, key in _SUMS:
        yield (name, *(cell for one in prices for cell in ("", cents(getattr(one, key)))))


_SUMS = (
    ("Cost", "cost"),
    ("Profit", "profit"),
    ("Up to the least price", "raised"),
    ("Rounded up by", "rounded"),
    ("Without tax", "net"),
    ("Tax", "tax"),
    ("To pay", "total"),
    ("Each, without tax", "each"),
)
_CAPTION = "Other quantities are of all sets in turn, each laid onto real beds"


def _different(price: Price, others: Sequence[Price]) -> list[Price]:
    """Return the order's own price, then those of other quantities."""
    return [price, *(one for one in others if one.pieces != price.pieces)]


def _price_row(price: Price) -> tuple[str, ...]:
    return (str(price.pieces), *(f"{cents(one)}" for one in (price.each, price.net, price.tax, price.total)))


def _amount(line: CostLine) -> Piece:
    return [str(cents(line.price)), " ", el("small", line.amount)]


def _items(about: QuoteFacts) -> Markup:
    names = [row_words(item.name) for item in about.items]
    rows = [
        (
            name,
            el("img", src=png_data(_picture(item.face)), alt=f"Front of {name}", width=str(_SHOWN_PX)),
            str(item.quantity),
            sides_words(item.size_mm),
            [swatch(to_hex(color)) for color in item.colors],
        )
        for name, item in zip(names, about.items, strict=True)
    ]
    return table(("Set", "Front", "Pieces", "Size", "Colors"), rows, caption="As in the proofs", quiet=True)


def _picture(face: Face) -> bytes:
    """Draw a small front in a square."""
    return png_bytes(color_picture(face, View.square(face.bounds, 2 * _SHOWN_PX)))


def _as_ordered(order: OrderSettings) -> list[Piece]:
    rows = [("Spelled exactly", order.spelling), ("Hangs on", order.hardware), ("Rights", order.rights)]
    given: list[tuple[str, Piece]] = [(name, words) for name, words in rows if words]
    return [facts(given)] if given else []


def _terms(about: QuoteFacts) -> list[str]:
    count = about.cost.corrections
    return [
        f"{count_words(count, 'correction')} of the proof {'is' if count == 1 else 'are'} included.",
        "It is made as in the proofs, once they are signed; the code on a proof tells its files from others.",
        *(f"{AUDIENCE[audience].capitalize()}: {short_cautions(audience)}" for audience in about.audiences),
        *about.cautions,
    ]


def _numbers(cost: CostSettings) -> list[Piece]:
    """Write the settings that were reckoned with, and those that are 0."""
    known = {key: getattr(cost, key) for key in specs(CostSettings)}
    used: list[tuple[str, Piece]] = [(f"cost.{key}", str(value)) for key, value in known.items() if value]
    none = ", ".join(f"cost.{key}" for key, value in known.items() if value == 0)
    return [facts(used), el("p", f"Not counted, since they are 0: {none or 'none'}.", cls="small")]
