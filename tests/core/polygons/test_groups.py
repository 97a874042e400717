from __future__ import annotations

import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.polygons.groups import joined


def by_hand(count: int, pairs: list[tuple[int, int]]) -> list[int]:
    """Flood one group after the other, the definition itself."""
    group = [-1] * count
    for start in range(count):
        if group[start] >= 0:
            continue
        group[start] = number = max(group) + 1
        waiting = [start]
        while waiting:
            here = waiting.pop()
            for a, b in pairs:
                for one, other in ((a, b), (b, a)):
                    if one == here and group[other] < 0:
                        group[other] = number
                        waiting.append(other)
    return group


@given(
    st.integers(1, 24).flatmap(
        lambda n: st.tuples(st.just(n), st.lists(st.tuples(*[st.integers(0, n - 1)] * 2)))
    )
)
@settings(max_examples=150)
def test_groups_are_those_that_flooding_finds(case: tuple[int, list[tuple[int, int]]]) -> None:
    count, pairs = case
    ends = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    number, group = joined(count, ends[:, 0], ends[:, 1])
    assert group.tolist() == by_hand(count, pairs)
    assert number == len(set(group.tolist()))


@pytest.mark.parametrize("order", ["rising", "falling", "shuffled"])
def test_a_long_chain_is_one_group_in_few_calls(order: str) -> None:
    """A chain followed link by link would take as many calls as it has links."""
    n, calls = 200_000, 0

    def count(_: object, event: str, __: object) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    name = np.arange(n)
    if order == "falling":
        name = name[::-1]
    if order == "shuffled":
        name = np.random.default_rng(3).permutation(n)
    before = sys.getprofile()
    sys.setprofile(count)
    try:
        number, group = joined(n, name[:-1], name[1:])
    finally:
        sys.setprofile(before)
    assert number == 1
    assert not group.any()
    assert calls < n / 100
