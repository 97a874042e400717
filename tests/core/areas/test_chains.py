"""Chains and rings put in order by pointer doubling, against walking them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.chains import rank_chains


def walked(previous: list[int], element: int) -> tuple[int, int, bool]:
    """Return first, rank and whether it is a ring, one step at a time."""
    way = [element]
    while previous[way[-1]] >= 0 and previous[way[-1]] != element:
        way.append(previous[way[-1]])
    if previous[way[-1]] < 0:
        return way[-1], len(way) - 1, False
    low = min(way)
    return low, way.index(low), True


@given(st.lists(st.tuples(st.integers(1, 9), st.booleans()), max_size=6), st.randoms(use_true_random=False))
def test_elements_are_placed_as_by_walking(rows: list[tuple[int, bool]], random) -> None:
    """Chains and rings of any length, their elements numbered by lot."""
    names = list(range(sum(size for size, _ in rows)))
    random.shuffle(names)
    previous, begin = [-1] * len(names), 0
    for size, ring in rows:
        own = names[begin : begin + size]
        for before, after in pairwise(own):
            previous[after] = before
        if ring:
            previous[own[0]] = own[-1]
        begin += size
    first, rank, on_ring = rank_chains(np.array(previous, dtype=np.int64))
    found = list(zip(first.tolist(), rank.tolist(), on_ring.tolist(), strict=True))
    assert found == [walked(previous, element) for element in range(len(names))]
