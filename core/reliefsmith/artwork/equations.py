"""Solve the equations of a grid whose cells are tied to cells nearby."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations_with_replacement
from typing import TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from ..model.arrays import Floats

__all__ = ["Tie", "shifted", "solved", "tied"]

T = TypeVar("T", bound=np.generic)
Tie: TypeAlias = tuple[int, tuple[float, ...], Floats | float]
"""An axis, by what neighbors along it are multiplied, and the weight of the square of their sum."""

_RESIDUAL = 1e-11  # of the right-hand side: far below one gray level of the light found from it
_MOST_ROUNDS = 50  # times the number of cells; exact arithmetic needs one


def solved(level: Floats, ties: Sequence[Tie], right: Floats) -> Floats:
    """Return the grid x for which `level x**2 - 2 right x` and the weighted squares of all ties are least.

    By conjugate gradients, scaled by the diagonal.

    Parameters
    ----------
    level, right : float64 arrays of shape (rows, columns)
        The level is positive.
    ties : sequence of Tie
        A weight is one number, or one for each place of the multipliers along the axis.

    Notes
    -----
    Hestenes and Stiefel (1952). Sums are elementwise in a fixed order, so the bits do not depend on a linear
    algebra library or its threads.

    Examples
    --------
    >>> solved(np.full((3, 2), 2.0), [], np.ones((3, 2))).tolist()
    [[0.5, 0.5], [0.5, 0.5], [0.5, 0.5]]
    """
    bands = _bands(level, ties)
    scale = 1.0 / bands[0]
    x = np.zeros(right.size)
    rest = right.astype(np.float64).reshape(-1)
    least = _RESIDUAL**2 * float((rest * rest).sum())
    way = scale * rest
    size = float((rest * way).sum())
    for _ in range(_MOST_ROUNDS * right.size):
        if float((rest * rest).sum()) <= least:
            break
        ahead = _times(bands, way)
        step = size / float((way * ahead).sum())
        x += step * way
        rest -= step * ahead
        scaled = scale * rest
        next_size = float((rest * scaled).sum())
        way = scaled + next_size / size * way
        size = next_size
    return x.reshape(right.shape)


def _bands(level: Floats, ties: Sequence[Tie]) -> dict[int, Floats]:
    """Return the matrix of the equations: its diagonal, and what ties a cell to the one some cells later."""
    grids = {(0, 0): level.copy()}
    for axis, factors, weight in ties:
        for one, other in combinations_with_replacement(range(len(factors)), 2):
            grid = grids.setdefault(((other - one) * (axis == 0), (other - one) * (axis == 1)), 0.0 * level)
            part = shifted(grid, axis, len(factors))[one]
            np.add(part, factors[one] * factors[other] * weight, out=part)
    bands: dict[int, Floats] = {}
    for (rows, columns), grid in grids.items():
        later = rows * level.shape[1] + columns  # of a narrow grid two may be one, of which one is empty
        bands[later] = bands.get(later, 0.0) + grid.reshape(-1)
    return bands


def _times(bands: Mapping[int, Floats], x: Floats) -> Floats:
    """Return the product of a symmetric matrix, as its upper bands, with a vector."""
    product: Floats = bands[0] * x
    for later, band in bands.items():
        if later:
            product[:-later] += band[:-later] * x[later:]
            product[later:] += band[:-later] * x[:-later]
    return product


def tied(x: Floats, ties: Sequence[Tie]) -> Floats:
    """Return how far ties pull at each cell of a grid: half the slope of their weighted squares."""
    return _times(_bands(np.zeros(x.shape), ties), x.reshape(-1)).reshape(x.shape)


def shifted(grid: npt.NDArray[T], axis: int, count: int) -> list[npt.NDArray[T]]:
    """Return views of a grid, each one place farther along an axis, all of one size."""
    length = max(grid.shape[axis] - count + 1, 0)
    spans = [slice(at, at + length) for at in range(count)]
    return [grid[span] if axis == 0 else grid[:, span] for span in spans]
