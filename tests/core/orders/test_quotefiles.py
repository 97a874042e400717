"""Files of a quote: real beds, prices at other quantities, tables that no spreadsheet runs, no names."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from core.orders.days import NAMES
from reliefsmith.command.cli import run
from reliefsmith.errors import GeometryError, OutputError
from reliefsmith.orders.quotefiles import COUNTS, write_quote
from reliefsmith.recipe import Recipe

from .madesets import finding, made_set
from .test_prices import SHOP

ASKED = Recipe().with_values({"beds.cell_mm": 1.0, **{f"cost.{key}": value for key, value in SHOP.items()}})


def test_a_quote_has_real_beds_no_names_and_the_same_bytes(day: Path, tmp_path: Path, capsys: Any) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text("[cost]\n" + "\n".join(f"{key} = {value}" for key, value in SHOP.items()))
    words = ["quote", str(day), "--recipe", str(shop), "--set", "cost.valid_until=the end of the season"]
    coarse = ["--set", "beds.cell_mm=1"]  # which is quicker
    assert run([*words, *coarse, "-o", str(tmp_path / "one"), "--json"]) == 0
    shown = capsys.readouterr()
    assert "no work is counted" not in shown.err
    told = json.loads(shown.out)
    assert [one["pieces"] for one in told["prices"]] == [8, 1, 10, 30, 100]
    assert run(["beds", str(day), *coarse, "-o", str(tmp_path / "beds"), "--json"]) == 0
    beds = json.loads(capsys.readouterr().out)["beds"]
    assert told["prices"][0]["beds"] == len(beds)
    assert told["prices"][0]["changes"] == sum(bed["changes"] for bed in beds)
    each = [Decimal(one["each"]) for one in told["prices"][1:]]
    assert each == sorted(each, reverse=True)
    assert run([*words, *coarse, "-o", str(tmp_path / "two"), "--quiet"]) == 0
    pages = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    assert pages == {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}
    assert not any(name.encode() in data for name in NAMES for data in pages.values())
    page = pages["quote.html"].decode()
    assert "the end of the season" in page
    assert "swallowed" in page
    assert "the others are of its 3 sets in turn" in page
    assert told["prices"][0]["total"].rjust(4) in page
    assert b"Profit" not in pages["quote.html"] + pages["quote.csv"]


def test_what_all_rows_say_alike_is_said_and_no_markup_gets_in(day: Path, tmp_path: Path) -> None:
    name = "=<b>Larkwater</b> & Co"
    words = ["--set", f"order.customer={name}", "--set", "order.deadline=before the fair", "--quiet"]
    words += ["--set", "beds.cell_mm=1"]
    assert run(["quote", str(day), "-o", str(tmp_path / "quote"), *words]) == 0
    page = (tmp_path / "quote" / "quote.html").read_text()
    assert "=&lt;b&gt;Larkwater&lt;/b&gt; &amp; Co" in page
    assert "before the fair" in page
    assert "for,'=<b>Larkwater</b> & Co" in (tmp_path / "quote" / "quote.csv").read_text()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--set", "printer.bed_mm=[45, 45]"], "no price for what cannot be printed: Row 1 is "),
        (["--set", "cost.profit=1.5", "--set", "cost.profit_of=price"], "cannot be kept of the price"),
        (["--set", "cost.round_to=0"], "cost.round_to"),
        (["--set", "cost.tax=20"], "cost.tax"),
    ],
)
def test_a_mistake_is_one_line(day: Path, tmp_path: Path, words: list[str], told: str, capsys: Any) -> None:
    assert run(["quote", str(day), "-o", str(tmp_path / "quote"), *words]) == 2
    line = capsys.readouterr().err
    assert told in line
    assert line.count("\n") == 1
    assert not (tmp_path / "quote").exists()


def test_prices_are_those_of_the_order_and_of_so_many_pieces_of_all_sets_in_turn(tmp_path: Path) -> None:
    sets = [made_set(tmp_path, "0001", order__quantity=2), made_set(tmp_path, "0002", 30.0)]
    report, price = write_quote(sets, str(tmp_path / "quote"), ASKED, replace=False)
    assert [one["pieces"] for one in report["prices"]] == [3, *COUNTS]
    assert price.pieces == 3
    assert report["prices"][0]["total"] == str(price.total)
    alone, _ = write_quote(sets[:1], str(tmp_path / "alone"), ASKED, replace=False)
    costs = [[Decimal(one["cost"]) for one in prices["prices"]] for prices in (alone, report)]
    assert costs[0][1] == costs[1][1]  # the first of the turn is the one that is alone
    assert costs[0][2] < costs[1][2]  # of ten every other one is half as long again


def test_only_what_all_orders_say_alike_is_on_the_quote(tmp_path: Path) -> None:
    said = {"order__customer": "Larkwater Kite Day", "order__deadline": "before the fair"}
    one = made_set(tmp_path, "0001", order__reference="A 17", **said)
    other = made_set(tmp_path, "0002", order__reference="B 4", **said)
    write_quote([one, other], str(tmp_path / "quote"), ASKED, replace=False)
    page = (tmp_path / "quote" / "quote.html").read_text(encoding="utf-8")
    assert "Larkwater Kite Day" in page
    assert "before the fair" in page
    assert "A 17" not in page
    assert "B 4" not in page


def test_there_is_no_price_for_what_cannot_be_printed_and_no_file(tmp_path: Path) -> None:
    stopped = [finding("hole-weak", "It breaks.", "stop")]
    sets = [made_set(tmp_path, "0001"), made_set(tmp_path, "0002", findings=stopped)]
    with pytest.raises(GeometryError, match=r"no price for what cannot be printed: Row 2 was not laid"):
        write_quote(sets, str(tmp_path / "quote"), ASKED, replace=False)
    assert not (tmp_path / "quote").exists()


def test_files_of_others_stay_unless_they_may_be_replaced(tmp_path: Path) -> None:
    page = tmp_path / "quote" / "quote.html"
    page.parent.mkdir()
    page.write_text("mine")
    sets = [made_set(tmp_path, "0001")]
    with pytest.raises(OutputError):
        write_quote(sets, str(page.parent), ASKED, replace=False)
    assert page.read_text() == "mine"
