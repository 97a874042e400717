"""The order of colors in a stepped relief: searched for little plastic, little height, printable strokes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache, lru_cache

import numpy as np
import shapely

from ..polygons import opened_area, union_of_faces
from ..progress import Progress, Steps

__all__ = ["StepOrder", "best_order_steps"]

THIN_LIMIT = 0.005
"""Share of all motif area thinner than the nozzle that weighs as much as one more whole height."""

SMOOTH_MM = 0.01
"""Areas are simplified by this before thin ones are looked for in every union: offsets of ragged boundaries
take half the time, and the thin area stays within a hundredth."""

_KEPT = 256
"""Thin areas that are remembered: those of all sets of eight colors, which no height changes."""

StepOrder = tuple[int, ...]
Cost = Callable[[int, int, int], float]


def best_order_steps(
    areas: Sequence[shapely.MultiPolygon], layers: Callable[[int, int], int], nozzle_mm: float
) -> Steps[StepOrder]:
    """Return the order of colors from the base up.

    Step i covers the areas of its color and of all later ones, so nothing hangs over; each step is one color.

    Parameters
    ----------
    areas : sequence of MultiPolygon
        One for each color; a valid coverage. At most eight.
    layers : callable
        Layers that color i needs over color j; -1 stands for the base.
    nozzle_mm : float

    Notes
    -----
    The cost of an order is plastic over its least possible value, plus height over its least possible value,
    plus the area of all steps that is thinner than the nozzle over 0.5 % of the motifs' area. Each is a sum
    over steps that depends only on the colors left, the color below and the color chosen, so dynamic
    programming over sets of colors finds the best of all orders exactly (Held and Karp 1962). Of equal orders
    the one that begins with the largest area is taken.
    """
    count = len(areas)
    everything = (1 << count) - 1
    size = [float(area.area) for area in areas]
    smooth = shapely.coverage_simplify(np.asarray(areas, dtype=object), SMOOTH_MM)
    thin = [0.0] * (everything + 1)
    for left in range(1, everything + 1):
        if left % 16 == 1:
            yield Progress("searching the order of colors", left / (everything + 1))
        thin[left] = _thin_area(tuple(smooth[_members(left)]), nozzle_mm) if count > 1 else 0.0

    def plastic(left: int, color: int, below: int) -> float:
        return math.fsum(size[i] for i in _members(left)) * layers(color, below)

    def height(_left: int, color: int, below: int) -> float:
        return float(layers(color, below))

    least_plastic, _ = _search(everything, plastic)
    least_height, _ = _search(everything, height)
    allowed = THIN_LIMIT * sum(size)

    def cost(left: int, color: int, below: int) -> float:
        return (
            plastic(left, color, below) / least_plastic
            + height(left, color, below) / least_height
            + thin[left] / allowed
        )

    return _search(everything, cost)[1]


def _members(left: int) -> list[int]:
    return [index for index in range(left.bit_length()) if left >> index & 1]


def _search(everything: int, cost: Cost) -> tuple[float, StepOrder]:
    """Return the least cost and its order, over all orders of the colors in a set of bits."""

    @cache
    def best(left: int, below: int) -> tuple[float, StepOrder]:
        if not left:
            return 0.0, ()
        options = []
        for color in _members(left):
            rest, order = best(left & ~(1 << color), color)
            options.append((round(cost(left, color, below) + rest, 9), (color, *order)))
        return min(options)

    return best(everything, -1)


@lru_cache(maxsize=_KEPT)
def _thin_area(areas: tuple[shapely.MultiPolygon, ...], nozzle_mm: float) -> float:
    """Return the area of a union that a disc of the nozzle's width cannot reach."""
    whole = union_of_faces(areas)
    return max(0.0, float(whole.area) - opened_area(whole, nozzle_mm / 2))
