"""Assignment of least total cost, held against trying everything."""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.checks.leastcost import least_total
from work import counted

LEFT_OUT = 1e6


def _total(costs: list[list[float]], given_: tuple[int | None, ...]) -> float:
    return sum(LEFT_OUT if column is None else costs[row][column] for row, column in enumerate(given_))


def _allowed(given_: tuple[int | None, ...], pairs: set[tuple[int, int]]) -> bool:
    return all(
        given_[one] is None or given_[one] != given_[other] or (one, other) in pairs
        for one, other in combinations(range(len(given_)), 2)
    )


@settings(max_examples=80)
@given(st.data())
def test_it_is_the_least_of_all_that_are_allowed(data: st.DataObject) -> None:
    rows, columns = data.draw(st.integers(1, 4)), data.draw(st.integers(0, 4))
    whole = st.integers(0, 12).map(float)
    costs = data.draw(
        st.lists(st.lists(whole, min_size=columns, max_size=columns), min_size=rows, max_size=rows)
    )
    every = list(combinations(range(rows), 2))
    pairs = set(data.draw(st.lists(st.sampled_from(every), unique=True))) if every else set()
    found = least_total(costs, sorted(pairs))
    assert _allowed(found, pairs)
    best = min(
        _total(costs, given_)
        for given_ in product([None, *range(columns)], repeat=rows)
        if _allowed(given_, pairs)
    )
    assert _total(costs, found) == pytest.approx(best)


def test_only_groups_of_which_every_two_may_share_do() -> None:
    costs = [[1.0, 50.0]] * 3
    assert least_total(costs, [(0, 1), (1, 2), (0, 2)]) == (0, 0, 0)
    found = least_total(costs, [(0, 1), (1, 2)])
    assert sorted(found, key=str) == [0, 0, 1]
    assert found[0] != found[2]


def test_nine_rows_and_many_columns_take_bounded_work() -> None:
    """The worst case: eight colors and a base, each row with cheapest columns of its own.

    Measured: 952,801 calls and returns.
    """
    costs = [[float((7 * row + 13 * column) % 83) for column in range(83)] for row in range(9)]
    found, calls = counted(lambda: least_total(costs, []))
    assert calls < 1_500_000
    assert len(set(found)) == 9
