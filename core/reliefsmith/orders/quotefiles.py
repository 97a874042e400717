"""The files of a quote: a page for the customer, the reckoning for the shop, both as CSV too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..documents.quote_page import Item, QuoteFacts, quote_html, quote_rows, reckoning_html, reckoning_rows
from ..errors import GeometryError
from ..formats.claims import Claim, given_folder
from ..formats.setreading import REPORT_SUFFIX
from ..formats.setwriting import write_set
from ..formats.tablefile import csv_bytes
from ..model.price import Price
from ..recipe import Recipe
from ..recipe.sections import OrderSettings
from ..recipe.settings import specs
from .beds import Copies, copies, lay
from .cautioned import row_cautions
from .finished import Finished
from .prices import priced
from .units import Shapes, Unit

__all__ = ["write_quote"]

KIND = "quote"
COUNTS = (1, 10, 30, 100)
"""Quantities that a quote tells prices for, beside the order's own."""


@dataclass(frozen=True, slots=True)
class _Reckoner:
    sets: Sequence[Finished]
    settings: Recipe
    shapes: Shapes

    def price(self, pieces: Copies) -> Price:
        """Return the price of pieces, laid onto real beds."""
        laid = lay(pieces, self.settings, self.shapes)
        if laid.findings:
            raise GeometryError(f"there is no price for what cannot be printed: {laid.findings[0].message}")
        return priced(laid.beds, self.settings)

    def price_of_count(self, count: int) -> Price:
        """Return the price of so many pieces of all sets in turn."""
        turns = [(self.sets[n % len(self.sets)], n // len(self.sets) + 1) for n in range(count)]
        return self.price(turns)


def write_quote(
    sets: Sequence[Finished], output: str, settings: Recipe, *, replace: bool
) -> tuple[Mapping[str, Any], Price]:
    """Reckon the order of finished sets and write the quote; the value is the report and the order's price.

    Parameters
    ----------
    sets : sequence of Finished
        What is ordered, each as often as its recipe says.
    output : str
    settings : Recipe
        Of printer, beds and cost.
    replace : bool
        Whether files of others may be replaced.

    Raises
    ------
    GeometryError
        If a piece cannot be printed.
    """
    folder = given_folder(output)
    reckoner = _Reckoner(sets, settings, Shapes())
    price = reckoner.price(copies(sets))
    others = tuple(reckoner.price_of_count(count) for count in COUNTS)
    facts = QuoteFacts(
        order=_common_order([one.recipe.order for one in sets]),
        cost=settings.cost,
        items=tuple(_item(one, reckoner.shapes) for one in sets),
        audiences=tuple(dict.fromkeys(one.recipe.audience for one in sets)),
        cautions=tuple(row_cautions(sets)),
    )
    files = {
        "quote.html": quote_html(facts, price, others),
        "quote.csv": csv_bytes(quote_rows(facts, price, others)),
        "reckoning.html": reckoning_html(facts, price, others),
        "reckoning.csv": csv_bytes(reckoning_rows(facts, price, others)),
    }
    report = {"schema": 1, "kind": KIND, "currency": settings.cost.currency, "prices": []}
    report["prices"] = [_mapping(one) for one in (price, *others)]
    return write_set(folder, files, f"quote{REPORT_SUFFIX}", report, Claim((), replace)), price


def _mapping(price: Price) -> dict[str, Any]:
    said = {name: str(getattr(price, name)) for name in ("cost", "net", "tax", "total", "each")}
    return {"pieces": price.pieces, "beds": price.beds, "changes": price.changes, **said}


def _common_order(orders: Sequence[OrderSettings]) -> OrderSettings:
    """Return what all orders say alike, and nothing else: what differs is the business of each row."""
    first = orders[0]
    same = {
        key: getattr(first, key)
        for key in specs(OrderSettings)
        if len({getattr(o, key) for o in orders}) == 1
    }
    return OrderSettings(**same)


def _item(one: Finished, shapes: Shapes) -> Item:
    face = shapes.of(Unit(one)).finished(one)
    return Item(one.name, face, one.recipe.order.quantity, one.size_mm, one.colors)
