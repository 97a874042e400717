"""What an order costs and is sold for, by the shop's own numbers, in decimals."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from ..model.price import CostLine, Price, cents
from ..recipe import Recipe
from ..recipe.sections import CostSettings
from .beds import Bed
from .units import PIECE

__all__ = ["priced"]

_PER_HOUR, _PER_KG = Decimal(60), Decimal(1000)


def priced(beds: Sequence[Bed], settings: Recipe) -> Price:
    """Reckon an order from the beds that it is printed on.

    Notes
    -----
    Machine and plastic are divided by the share of prints that come out. Profit is a share of the cost, put
    on it, or of the price, kept of it. Then the least price holds, then the price of a piece or of the order
    is rounded up, once, and tax is reckoned on that.
    """
    cost = settings.cost
    pieces = sum(laid.unit.what in PIECE for bed in beds for laid in bed.pieces)
    lines = _lines(beds, settings, pieces)
    whole = sum((line.price for line in lines), Decimal(0))
    share = _decimal(cost.profit)
    profit = whole * share if cost.profit_of == "cost" else whole / (1 - share) - whole
    profit = cents(profit)
    asked = whole + profit
    raised = max(_decimal(cost.minimum) - asked, Decimal(0))
    net, each = _rounded(asked + raised, pieces, cost)
    tax = cents(net * _decimal(cost.tax))
    return Price(
        pieces=pieces,
        beds=len(beds),
        changes=sum(bed.work.changes for bed in beds),
        lines=tuple(lines),
        cost=whole,
        profit=profit,
        raised=raised,
        rounded=net - asked - raised,
        net=net,
        tax=tax,
        total=net + tax,
        each=each,
    )


def _lines(beds: Sequence[Bed], settings: Recipe, pieces: int) -> list[CostLine]:
    cost, printer = settings.cost, settings.printer
    hand = _decimal(cost.hand_per_hour) / _PER_HOUR
    changing = sum((_decimal(round(bed.work.attended_min, 2)) for bed in beds), Decimal(0))
    minutes = (
        ("Order: file, proof, corrections", _decimal(cost.order_min)),
        ("Beds: setting up, start, taking off", _decimal(cost.bed_min) * len(beds)),
        ("Changes of filament by hand", changing),
        ("Finishing", _decimal(cost.finish_min) * pieces),
        ("Fitting hardware", _decimal(cost.fit_min) * pieces),
        ("Packing", _decimal(cost.pack_min) * pieces),
    )
    lines = [CostLine(what, f"{_shown(count)} min", cents(count * hand)) for what, count in minutes]
    running = sum((_decimal(round(bed.work.time_min + printer.warm_up_min, 2)) for bed in beds), Decimal(0))
    machine = cents(running / _PER_HOUR * _decimal(cost.machine_per_hour))
    grams = sum((_decimal(round(bed.work.mass_g, 3)) for bed in beds), Decimal(0))
    grams += _decimal(cost.change_g) * sum(bed.work.between for bed in beds)
    plastic = cents(grams / _PER_KG * _decimal(cost.filament_per_kg))
    lines += [
        CostLine("Machine, with warm-up", f"{_shown(running)} min", machine),
        CostLine("Plastic, with what is pushed through", f"{_shown(grams)} g", plastic),
    ]
    lost = (machine + plastic) / (1 - _decimal(cost.failures)) - machine - plastic
    failed = f"{_shown(_decimal(cost.failures) * 100)} %"
    return [
        *lines,
        CostLine("Prints that fail: machine and plastic", failed, cents(lost)),
        CostLine("Hardware", f"{pieces}", cents(_decimal(cost.hardware_each) * pieces)),
        CostLine("Bags or cards", f"{pieces}", cents(_decimal(cost.packing_each) * pieces)),
        CostLine("Parcel", "1", cents(_decimal(cost.parcel))),
    ]


def _rounded(asked: Decimal, pieces: int, cost: CostSettings) -> tuple[Decimal, Decimal]:
    """Return the price of the order and of a piece, one of them rounded up."""
    step = _decimal(cost.round_to)
    if cost.round_what == "piece":
        each = _up(asked / pieces, step)
        return each * pieces, each
    net = _up(asked, step)
    return net, cents(net / pieces)


def _up(value: Decimal, step: Decimal) -> Decimal:
    return (value / step).to_integral_value(ROUND_CEILING) * step


def _decimal(value: float) -> Decimal:
    """Return a number as it is written: 0.1 is a tenth."""
    return Decimal(repr(value))


def _shown(value: Decimal) -> str:
    return f"{cents(value).normalize():f}"
