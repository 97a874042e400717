"""Quote and reckoning: the same sums on page and in tables, only what is said, nothing of the shop's."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
import shapely

from reliefsmith.documents.quote_page import (
    Item,
    QuoteFacts,
    quote_html,
    quote_rows,
    reckoning_html,
    reckoning_rows,
)
from reliefsmith.documents.views import Face
from reliefsmith.model.price import CostLine, Price
from reliefsmith.recipe.sections import CostSettings, OrderSettings

from .pages import Page

SHAPE = shapely.box(0, 0, 40, 20)
FACE = Face((SHAPE,), (SHAPE,), (0,), ((211, 32, 32),), (2.0,))
ITEM = Item("7", FACE, 12, (40.0, 20.0, 2.6), ((211, 32, 32), (20, 33, 61)))
COST = CostSettings(tax=0.2, currency="EUR", valid_until="autumn", hand_per_hour=30, corrections=2)
FACTS = QuoteFacts(
    OrderSettings(customer="Oda <Fennimore>"), COST, (ITEM,), ("adults",), ("Row 7: mind it.",)
)


def _price(pieces: int, net: str) -> Price:
    value = Decimal(net)
    lines = (
        CostLine("Packing", f"{pieces} min", Decimal("1.50")),
        CostLine("Machine", "208 min", Decimal("4.16")),
    )
    none = Decimal(0)
    tax = value / 5
    return Price(
        pieces,
        2,
        3,
        lines,
        Decimal("5.66"),
        Decimal("1.34"),
        none,
        none,
        value,
        tax,
        value + tax,
        value / pieces,
    )


PRICE, OTHERS = _price(12, "60"), (_price(1, "9"), _price(12, "60"), _price(100, "300"))


def test_the_order_comes_first_and_no_quantity_twice() -> None:
    rows = list(quote_rows(FACTS, PRICE, OTHERS))
    head = next(at for at, row in enumerate(rows) if row[0] == "pieces")
    assert [row[0] for row in rows[head + 1 :]] == [12, 1, 100]
    assert rows[head + 1][1:] == (
        Decimal("5.00"),
        Decimal("60.00"),
        Decimal("12.00"),
        Decimal("72.00"),
        "EUR",
    )
    page = Page(quote_html(FACTS, PRICE, OTHERS))
    cells = [data for tag, data in page.texts if tag in ("th", "td")]
    assert cells[cells.index("To pay") + 1 :][:5] == ["12", "5.00", "60.00", "12.00", "72.00"]


def test_only_what_is_said_stands_on_the_quote() -> None:
    assert list(quote_rows(FACTS, PRICE, ()))[:2] == [("for", "Oda <Fennimore>"), ("valid until", "autumn")]
    text = Page(quote_html(FACTS, PRICE, ())).text()
    assert "Oda <Fennimore>" in text
    assert "Your reference" not in text
    assert "12 pieces to order" in text
    titled = replace(FACTS, order=OrderSettings(title="Kites", spelling="LARKWATER"))
    text = Page(quote_html(titled, PRICE, ())).text()
    assert "Quote: Kites" in text
    assert "Spelled exactly LARKWATER" in text
    assert "For Oda" not in text


@pytest.mark.parametrize(("cost", "words"), [(COST, "tax of 20 %"), (replace(COST, tax=0.0), "no tax")])
def test_the_caption_says_tax_and_what_other_quantities_are_of(cost: CostSettings, words: str) -> None:
    one = Page(quote_html(replace(FACTS, cost=cost), PRICE, OTHERS)).text()
    assert f"Prices in EUR, with {words}; the first line is this order" in one
    assert "in turn" not in one
    two = Page(quote_html(replace(FACTS, cost=cost, items=(ITEM, ITEM)), PRICE, OTHERS)).text()
    assert "the others are of its 2 sets in turn" in two


def test_terms_count_corrections_and_hold_the_cautions() -> None:
    text = Page(quote_html(FACTS, PRICE, ())).text()
    assert "2 corrections of the proof are included." in text
    assert "For adults: Not a toy" in text
    assert "Row 7: mind it." in text
    single = replace(FACTS, cost=replace(COST, corrections=1))
    assert "1 correction of the proof is included." in Page(quote_html(single, PRICE, ())).text()


def test_each_set_is_shown_with_its_size_and_colors() -> None:
    page = Page(quote_html(FACTS, PRICE, ()))
    assert "Row 7" in page.text()
    assert "40.0 × 20.0 × 2.6 mm" in page.text()
    assert [item["fill"] for item in page.all("rect")] == ["#d32020", "#14213d"]
    assert len(page.all("img")) == 1


def test_the_shop_sees_every_line_at_every_quantity_and_the_customer_none() -> None:
    rows = {row[0]: row[1:] for row in reckoning_rows(FACTS, PRICE, OTHERS)}
    assert rows["Packing"] == (
        "12 min",
        Decimal("1.50"),
        "1 min",
        Decimal("1.50"),
        "100 min",
        Decimal("1.50"),
    )
    assert rows["To pay"][1::2] == (Decimal("72.00"), Decimal("10.80"), Decimal("360.00"))
    assert rows["beds"][0::2] == (2, 2, 2)
    shop, customer = (Page(html(FACTS, PRICE, OTHERS)).text() for html in (reckoning_html, quote_html))
    for word in ("Packing", "Machine", "Profit", "1.34"):
        assert word in shop
        assert word not in customer
    assert "cost.hand_per_hour 30.0" in shop
    assert "Not counted, since they are 0: cost.machine_per_hour" in shop
    unsaid = replace(FACTS, cost=replace(COST, valid_until=""))
    assert "cost.valid_until" not in Page(reckoning_html(unsaid, PRICE, OTHERS)).text()
