"""The cheapest cut of a graph: by hand, and against another library's greatest flow."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from reliefsmith.plan.division.mincut import reached_side

Edges = list[tuple[int, int, int]]


def test_of_cuts_that_cost_the_same_the_one_nearest_to_the_source_is_taken() -> None:
    """4 pass at most: 1-3 and 2-3 hold as many as 0-2, 1-2 and 1-3 together."""
    edges = [(0, 1, 3), (0, 2, 2), (1, 2, 1), (1, 3, 1), (2, 3, 3)]
    assert reached_side(4, edges, 0, 3) == [True, True, False, False]
    assert reached_side(4, [(0, 1, 2), (1, 2, 2), (2, 3, 2)], 0, 3) == [True, False, False, False]


def test_what_no_way_leads_to_lies_beyond_the_cut() -> None:
    assert reached_side(4, [(0, 1, 1), (2, 3, 1)], 0, 3) == [True, True, False, False]


def test_ways_between_the_same_two_add_up() -> None:
    assert reached_side(3, [(0, 1, 2), (1, 0, 2), (1, 2, 3)], 0, 2) == [True, True, False]


@st.composite
def graphs(draw: st.DrawFn) -> tuple[int, Edges]:
    """Draw two to nine nodes and up to three ways for each."""
    count = draw(st.integers(2, 9))
    node = st.integers(0, count - 1)
    edges = draw(st.lists(st.tuples(node, node, st.integers(1, 9)), max_size=3 * count))
    return count, [(one, other, cost) for one, other, cost in edges if one != other]


@given(graphs())
def test_the_side_is_what_another_librarys_greatest_flow_leaves_to_be_reached(
    graph: tuple[int, Edges],
) -> None:
    """Of all cheapest cuts there is one whose source's side is the least (Ford and Fulkerson, 1962)."""
    count, edges = graph
    table = np.zeros((count, count), np.int32)
    for one, other, cost in edges:
        table[one, other] += cost
        table[other, one] += cost
    found = maximum_flow(csr_array(table), 0, count - 1)
    left = table - found.flow.toarray()
    reached = set(breadth_first_order(csr_array(left), 0, return_predecessors=False).tolist())
    side = reached_side(count, edges, 0, count - 1)
    assert {node for node in range(count) if side[node]} == reached
    assert sum(cost for one, other, cost in edges if side[one] != side[other]) == found.flow_value
