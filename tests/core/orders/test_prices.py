"""Prices: every line by hand, rounding once, what is lost to prints that fail, decimals all the way."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from reliefsmith.checks.bedwork import BedWork
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
    assert least.rounded == 0


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


def test_parts_of_a_cut_piece_and_what_goes_with_it_are_no_pieces() -> None:
    work = bed(1, 1).work
    whats = ("", "part-1", "part-2", "foot")
    laid = tuple(LaidPiece(Unit(None, what), 1, 0.0, (0.0, 0.0)) for what in whats)  # type: ignore[arg-type]
    price = priced([Bed(1, "rest", laid, work)], settings())
    assert price.pieces == 2
    assert price.changes == 3
    packing = next(line for line in price.lines if line.what == "Packing")
    assert packing.amount == "1 min"  # half a minute each


@pytest.mark.parametrize("failures", [0.0, 0.2, 0.5])
def test_what_fails_is_paid_by_what_comes_out(failures: float) -> None:
    """Of n prints n (1 - f) come out: the plastic and the machine of one sold cost 1 / (1 - f) of a print."""
    none = dict.fromkeys(SHOP, 0) | {"machine_per_hour": 6, "round_to": 0.01, "failures": failures}
    price = priced([bed(1, 1)], settings(**none))
    machine = Decimal("10.40")  # 104 minutes at 0.10
    assert price.cost == (machine / (1 - Decimal(str(failures)))).quantize(Decimal("0.01"))
    assert price.profit == price.tax == 0


def test_each_bed_and_each_piece_has_its_own_share() -> None:
    """Hand and machine are by bed, finishing by piece; the order and the parcel are paid once."""
    lines = [
        {line.what: line.price for line in priced(beds, settings()).lines}
        for beds in ([bed(1, 5)], [bed(1, 5), bed(2, 5)])
    ]
    doubled = {what for what, price in lines[0].items() if lines[1][what] == 2 * price}
    same = {what for what, price in lines[0].items() if lines[1][what] == price}
    assert same == {"Order: file, proof, corrections", "Parcel"}
    assert len(doubled | same) >= len(lines[0]) - 1  # but for the cent of what fails


def test_a_least_price_below_the_asked_one_changes_nothing() -> None:
    asked = priced([bed(1, 5)], settings())
    assert priced([bed(1, 5)], settings(minimum=float(asked.net) - 1)) == asked
    assert asked.raised == 0
