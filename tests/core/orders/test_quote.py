"""Quotes: every line by hand, rounding once, tables that no spreadsheet runs, real beds."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from core.orders.days import NAMES, make_day
from reliefsmith.checks.bedwork import BedWork
from reliefsmith.command.cli import run
from reliefsmith.orders.beds import Bed, LaidPiece
from reliefsmith.orders.prices import priced
from reliefsmith.orders.units import Unit
from reliefsmith.recipe import Recipe

SHOP = {
    "hand_per_hour": 30,
    "machine_per_hour": 1.2,
    "filament_per_kg": 25,
    "order_min": 20,
    "bed_min": 6,
    "finish_min": 1.5,
    "fit_min": 1,
    "pack_min": 0.5,
    "hardware_each": 0.18,
    "packing_each": 0.07,
    "parcel": 4.9,
    "change_g": 0.4,
    "failures": 0.05,
    "profit": 0.3,
    "round_to": 0.5,
    "tax": 0.2,
}


def bed(number: int, pieces: int) -> Bed:
    """A bed of 100 minutes and 50 g, 3 changes between layers, by hand 9 minutes."""
    work = BedWork((), changes=3, between=3, purge_mm3=0, time_min=100, attended_min=9, mass_g=50)
    piece = LaidPiece(Unit(None), 1, 0.0, (0.0, 0.0))  # type: ignore[arg-type]
    return Bed(number, "rest", (piece,) * pieces, work)


def settings(**changed: Any) -> Recipe:
    cost = {f"cost.{key}": value for key, value in {**SHOP, **changed}.items()}
    return Recipe().with_values({**cost, "printer.warm_up_min": 4})


def test_every_line_is_what_a_hand_reckons() -> None:
    """Two beds of 5: 30 an hour is 0.50 a minute; (3.12 + 2.56) / 0.95 is 0.30 more than the two."""
    price = priced([bed(1, 5), bed(2, 5)], settings())
    assert [str(line.price) for line in price.lines] == [
        "10.00",  # 20 min for the order
        "6.00",  # 12 min for beds
        "9.00",  # 18 min for changes
        "7.50",  # 15 min for finishing
        "5.00",  # 10 min for fitting
        "2.50",  # 5 min for packing
        "4.16",  # 208 min of the machine at 0.02
        "2.56",  # 102.4 g at 0.025
        "0.35",  # 6.72 / 0.95 - 6.72 = 0.3537
        "1.80",
        "0.70",
        "4.90",
    ]
    assert price.cost == Decimal("54.47")
    assert price.profit == Decimal("16.34")  # 16.341
    assert price.net == Decimal("71.0")  # 70.81 up to a half
    assert price.rounded == Decimal("0.19")
    assert (price.tax, price.total, price.each) == (Decimal("14.20"), Decimal("85.20"), Decimal("7.10"))
    assert sum(line.price for line in price.lines) + price.profit + price.raised + price.rounded == price.net


def test_profit_is_kept_of_the_price_or_put_on_the_cost_and_the_least_price_holds() -> None:
    kept = priced([bed(1, 5)], settings(profit_of="price", round_to=0.01))
    assert kept.net == ((kept.cost / Decimal("0.7")).quantize(Decimal("0.01")))
    least = priced([bed(1, 5)], settings(minimum=120))
    assert (least.net, least.raised) == (Decimal("120.0"), Decimal(120) - least.cost - least.profit)


def test_only_one_of_piece_and_total_is_rounded() -> None:
    piece = priced([bed(1, 3)], settings(round_what="piece", round_to=0.05))
    assert piece.each % Decimal("0.05") == 0
    assert piece.net == piece.each * 3
    total = priced([bed(1, 3)], settings(round_to=0.05))
    assert total.net % Decimal("0.05") == 0
    assert total.net <= piece.net < total.net + Decimal("0.15")


def test_tax_is_rounded_half_up_to_the_cent() -> None:
    """0.5 % of 2.5 x 2 = 5.00 is 0.025: half up gives 0.03, where floats and half to even give 0.02."""
    none = dict.fromkeys(SHOP, 0) | {"parcel": 5, "round_to": 0.01, "tax": 0.005}
    price = priced([bed(1, 1)], settings(**none))
    assert (price.net, price.tax, price.total) == (Decimal("5.00"), Decimal("0.03"), Decimal("5.03"))


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_day(tmp_path_factory.mktemp("kite-day"))


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
