"""The order of colors: as few changes as possible, found again by trying everything."""

from __future__ import annotations

from itertools import pairwise, permutations, product

from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.checks.changes import hand_loads, schedule
from reliefsmith.model.arrays import Color

A, B, C, D = (0, 0, 0), (255, 0, 0), (0, 255, 0), (0, 0, 255)
PALETTE = (A, B, C, D)
layer_lists = st.lists(st.lists(st.sampled_from(PALETTE), min_size=1, max_size=3, unique=True), max_size=5)


def _fewest(layers: list[list[Color]]) -> int:
    """Try every order of colors in every layer."""
    best = 10**9
    for orders in product(*(list(permutations(layer)) for layer in layers)):
        row = [color for order in orders for color in order]
        best = min(best, sum(one != other for one, other in pairwise(row)))
    return best


@given(layer_lists)
@settings(max_examples=60)
def test_no_order_has_fewer_changes(layers: list[list[Color]]) -> None:
    found = schedule(layers)
    assert found.changes == (_fewest(layers) if layers else 0)
    assert found.changes == max(0, len(found.colors) - 1)
    assert all(one != other for one, other in pairwise(found.colors))


@given(layer_lists)
def test_changes_inside_layers_cannot_be_avoided(layers: list[list[Color]]) -> None:
    assert schedule(layers).inside == sum(len(layer) - 1 for layer in layers)


def test_one_color_needs_no_change() -> None:
    assert schedule([[A]] * 10).changes == 0
    assert schedule([]).changes == 0


def test_colors_split_by_height_change_once_each() -> None:
    found = schedule([[A]] * 10 + [[B]] * 3 + [[C]] * 2)
    assert (found.inside, found.between, found.colors) == (0, 2, (A, B, C))


def _fewest_loads(colors: list[Color], slots: int) -> int:
    """Walk all sets of loaded filaments; what is loaded before the start is free."""
    states: dict[frozenset[Color], int] = {frozenset(): 0}
    for color in colors:
        after: dict[frozenset[Color], int] = {}
        for loaded, count in states.items():
            if color in loaded:
                options = [(loaded, count)]
            elif len(loaded) < slots:
                options = [(loaded | {color}, count)]
            else:
                options = [((loaded - {out}) | {color}, count + 1) for out in loaded]
            for state, cost in options:
                after[state] = min(cost, after.get(state, cost))
        states = after
    return min(states.values())


@given(st.lists(st.sampled_from(PALETTE), max_size=8), st.integers(1, 4))
@settings(max_examples=80)
def test_no_choice_needs_fewer_loads_by_hand(colors: list[Color], slots: int) -> None:
    assert hand_loads(colors, slots) == _fewest_loads(colors, slots)


def test_enough_slots_need_no_hand() -> None:
    assert hand_loads([A, B, A, C, B], 3) == 0
