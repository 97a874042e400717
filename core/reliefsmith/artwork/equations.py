"""Solve the equations of a grid whose cells are tied to cells nearby."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Floats, Ints
from ..polygons.groups import sorted_distinct

__all__ = ["solved"]


_RESIDUAL = 1e-11  # of the right-hand side: far below one gray level of the light found from it
_MOST_ROUNDS = 50  # times the number of cells; exact arithmetic needs one


def solved(rows: Ints, columns: Ints, values: Floats, right: Floats) -> Floats:
    """Solve a symmetric positive definite system by conjugate gradients, scaled by its diagonal.

    Parameters
    ----------
    rows, columns : int64 arrays of shape (n,)
        Equation and unknown of each entry, as indices into the flat grid; repeated entries add up.
    values : float64 array of shape (n,)
    right : float64 array of shape (h, w)
        Right-hand side.

    Returns
    -------
    float64 array of shape (h, w)

    Notes
    -----
    Hestenes and Stiefel (1952). Sums are elementwise in a fixed order, so the bits do not depend on a linear
    algebra library or its threads.

    Examples
    --------
    >>> at = np.arange(6)
    >>> solved(at, at, np.full(6, 2.0), np.ones((3, 2))).tolist()
    [[0.5, 0.5], [0.5, 0.5], [0.5, 0.5]]
    """
    diagonals = _diagonals(rows, columns, values, right.size)
    scale = 1.0 / diagonals[0]
    x = np.zeros(right.size)
    rest = right.ravel().astype(np.float64)
    least = _RESIDUAL**2 * float((rest * rest).sum())
    way = scale * rest
    size = float((rest * way).sum())
    for _ in range(_MOST_ROUNDS * right.size):
        if float((rest * rest).sum()) <= least:
            break
        ahead = _times(diagonals, way)
        step = size / float((way * ahead).sum())
        x += step * way
        rest -= step * ahead
        next_size = float((scale * rest * rest).sum())
        way = scale * rest + next_size / size * way
        size = next_size
    return x.reshape(right.shape)


def _diagonals(rows: Ints, columns: Ints, values: Floats, count: int) -> dict[int, Floats]:
    """Return the upper diagonals of the matrix by their offset; the main one comes first."""
    offset = columns - rows
    upper = sorted_distinct(offset[offset >= 0])
    found: dict[int, Floats] = {}
    for one in upper.tolist():  # a handful: one for each kind of neighbor
        here = offset == one
        found[one] = np.bincount(rows[here], values[here], count).astype(np.float64)
    return found


def _times(diagonals: dict[int, Floats], x: Floats) -> Floats:
    result: Floats = diagonals[0] * x
    for offset, diagonal in diagonals.items():
        if offset:
            result[:-offset] += diagonal[:-offset] * x[offset:]
            result[offset:] += diagonal[:-offset] * x[:-offset]
    return result
