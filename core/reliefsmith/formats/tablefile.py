"""Write tables as CSV (RFC 4180) that no spreadsheet takes for formulas."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TypeAlias

__all__ = ["Cell", "csv_bytes"]

Cell: TypeAlias = str | int | Decimal

_BEGINS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_bytes(rows: Iterable[Sequence[Cell]]) -> bytes:
    r"""Write rows as UTF-8 with a mark, by which spreadsheets know it.

    Text that a spreadsheet would take for a formula gets an apostrophe before it, which makes it text there;
    numbers are written as they are.

    Examples
    --------
    >>> csv_bytes([("=1+2", Decimal("-3.50"), 7)]).decode("utf-8-sig")
    "'=1+2,-3.50,7\r\n"
    """
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([[_written(cell) for cell in row] for row in rows])
    return out.getvalue().encode("utf-8-sig")


def _written(cell: Cell) -> str:
    if not isinstance(cell, str):
        return str(cell)
    first = unicodedata.normalize("NFKC", cell.lstrip(" "))[:1]  # a wide sign counts as the plain one
    return f"'{cell}" if first in _BEGINS_FORMULA else cell
