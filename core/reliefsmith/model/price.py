"""What an order costs and is sold for, in decimals."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

__all__ = ["CostLine", "Price", "cents"]

_CENT = Decimal("0.01")


def cents(value: Decimal) -> Decimal:
    """Round an amount half up to 0.01.

    Examples
    --------
    >>> cents(Decimal("1.225")), cents(Decimal("71.0"))
    (Decimal('1.23'), Decimal('71.00'))
    """
    return value.quantize(_CENT, ROUND_HALF_UP)


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the reckoning: what, how much of it in words, and what it costs."""

    what: str
    amount: str
    price: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """An order reckoned.

    Parameters
    ----------
    pieces, beds, changes : int
    lines : tuple of CostLine
        They add up to `cost`; each is rounded half up to 0.01.
    cost, profit : Decimal
    raised : Decimal
        What the least price of an order adds.
    rounded : Decimal
        What rounding up adds.
    net, tax, total : Decimal
    each : Decimal
        Price of a piece before tax; where the price of the order is rounded, its share, half up.
    """

    pieces: int
    beds: int
    changes: int
    lines: tuple[CostLine, ...]
    cost: Decimal
    profit: Decimal
    raised: Decimal
    rounded: Decimal
    net: Decimal
    tax: Decimal
    total: Decimal
    each: Decimal
