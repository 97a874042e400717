"""Assignment of least total cost where some may share: an exact search over subsets, made for few rows."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

__all__ = ["least_total"]

_LEFT_OUT = 1e6
"""Cost of a row without a column: far over any difference of colors, so that few are left out."""


def least_total(
    costs: Sequence[Sequence[float]], may_share: Sequence[tuple[int, int]]
) -> tuple[int | None, ...]:
    """Give every row a column so that the sum of costs is least; a column serves one row or rows that share.

    Parameters
    ----------
    costs : n rows of m costs
        n up to about 10: time and memory grow with 2^n.
    may_share : pairs of rows
        Rows of which every two are listed may have the same column.

    Returns
    -------
    tuple of int or None
        The column of each row; None where columns are too few. Among equal sums the one found first with
        columns in their order.

    Notes
    -----
    Dynamic programming over the set of rows served so far, column after column (M. Held, R. M. Karp, "A
    Dynamic Programming Approach to Sequencing Problems", J. SIAM 10(1), 1962, doi:10.1137/0110015). A row
    needs only its n cheapest columns: the others cannot take all of them.

    Examples
    --------
    >>> least_total([[1.0, 2.0], [1.0, 9.0]], [])
    (1, 0)
    >>> least_total([[1.0, 2.0], [1.0, 9.0]], [(0, 1)])
    (0, 0)
    >>> least_total([[1.0], [2.0]], [])
    (0, None)
    """
    count = len(costs)
    groups = _groups(count, {frozenset(pair) for pair in may_share})
    nothing: tuple[int | None, ...] = (None,) * count
    best: dict[int, tuple[float, tuple[int | None, ...]]] = {0: (0.0, nothing)}
    for column in _worth_trying(costs):
        grown = dict(best)
        for served, (total, given) in best.items():
            for group, rows in groups:
                if served & group:
                    continue
                cost = total + sum(costs[row][column] for row in rows)
                if served | group not in grown or cost < grown[served | group][0]:
                    grown[served | group] = (
                        cost,
                        tuple(column if row in rows else value for row, value in enumerate(given)),
                    )
        best = grown
    ends = [(total + _LEFT_OUT * given.count(None), given) for total, given in best.values()]
    return min(ends, key=lambda end: end[0])[1]


def _groups(count: int, pairs: set[frozenset[int]]) -> list[tuple[int, tuple[int, ...]]]:
    """Return every set of rows that may share a column, as bits and as rows, single rows first."""
    found = []
    for size in range(1, count + 1):
        sets = combinations(range(count), size)
        fit = [rows for rows in sets if all(frozenset(pair) in pairs for pair in combinations(rows, 2))]
        if not fit:
            break  # a larger set would hold smaller ones
        found += [(sum(1 << row for row in rows), rows) for rows in fit]
    return found


def _worth_trying(costs: Sequence[Sequence[float]]) -> list[int]:
    """Return the columns that are among the n cheapest of any row, in their order."""
    columns: set[int] = set()
    for row in costs:
        columns |= set(sorted(range(len(row)), key=lambda column: (row[column], column))[: len(costs)])
    return sorted(columns)
