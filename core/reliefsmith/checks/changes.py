"""The order of colors through a print: how often the filament changes, and how many changes are by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..model.arrays import Color

__all__ = ["Schedule", "hand_loads", "schedule"]


@dataclass(frozen=True, slots=True)
class Schedule:
    """Colors in the order of printing.

    Parameters
    ----------
    colors : tuple of colors
        Each time that a color begins; never the same twice in a row.
    inside : int
        Changes within a layer, where the old color still goes on in the next part of the same layer.
    between : int
        Changes between a layer and the next.
    """

    colors: tuple[Color, ...]
    inside: int
    between: int

    @property
    def changes(self) -> int:
        """All changes; the first color is none."""
        return self.inside + self.between


def schedule(layers: Sequence[Sequence[Color]]) -> Schedule:
    """Return the order of colors with the fewest changes.

    A layer of k colors takes k - 1 changes within it; between layers none is needed if the next one begins
    with the color the last one ended with. Which color ends a layer is chosen for the whole print at once, by
    dynamic programming over the layers.

    Parameters
    ----------
    layers : sequence of sequences of colors
        The different colors of each layer, from the bed up.

    Examples
    --------
    >>> navy, white, red = (0, 0, 90), (255, 255, 255), (200, 0, 0)
    >>> schedule([[navy], [navy], [white]]).changes
    1
    >>> schedule([[navy], [white, red], [white, red], [white, red]]).changes
    4
    """
    filled = [list(dict.fromkeys(layer)) for layer in layers if layer]
    if not filled:
        return Schedule((), 0, 0)
    steps = [dict.fromkeys(filled[0], 0)]
    back: list[dict[Color, Color]] = []
    for layer in filled[1:]:
        costs, origin = {}, {}
        for end in layer:
            costs[end], origin[end] = min(
                ((cost + _turn(layer, last, end), last) for last, cost in steps[-1].items()),
                key=lambda item: item[0],
            )
        steps.append(costs)
        back.append(origin)
    end = min(steps[-1], key=lambda color: steps[-1][color])
    ends = [end]
    for origin in reversed(back):
        ends.append(origin[ends[-1]])
    return _written(filled, ends[::-1])


def hand_loads(colors: Sequence[Color], slots: int) -> int:
    """Return how often a filament is put in by hand when `slots` are loaded at once before the start.

    The filament that is needed again last makes room (Belady, IBM Systems Journal 5(2), 78-101, 1966), which
    is the least number of loads.

    Examples
    --------
    >>> a, b, c = (0, 0, 0), (1, 1, 1), (2, 2, 2)
    >>> hand_loads([a, b, a, b], 1), hand_loads([a, b, a, b], 2), hand_loads([a, b, c, a, b], 2)
    (3, 0, 2)
    """
    loaded: list[Color] = []
    loads = 0
    for index, color in enumerate(colors):
        if color in loaded:
            continue
        if len(loaded) >= slots:
            loads += 1
            rest = list(colors[index:])
            loaded.remove(max(loaded, key=lambda item: rest.index(item) if item in rest else len(rest)))
        loaded.append(color)
    return loads


def _turn(layer: list[Color], last: Color, end: Color) -> int:
    """Return the changes between two layers, when one ended with `last` and the next ends with `end`."""
    free = last in layer and (len(layer) == 1 or last != end)
    return 0 if free else 1


def _written(layers: list[list[Color]], ends: list[Color]) -> Schedule:
    order: list[Color] = []
    inside = between = 0
    for layer, end in zip(layers, ends, strict=True):
        middle = [color for color in layer if color != end]
        if order and order[-1] in middle:
            middle.remove(order[-1])
            middle.insert(0, order[-1])
        for position, color in enumerate([*middle, end]):
            if order and order[-1] == color:
                continue
            inside += position > 0
            between += position == 0 and bool(order)
            order.append(color)
    return Schedule(tuple(order), inside, between)
