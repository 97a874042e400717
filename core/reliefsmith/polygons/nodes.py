"""Lattices round a shape, and which nodes lie within it: asked near its boundary, else told by neighbors."""

from __future__ import annotations

import math
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Flags, Ints

__all__ = ["lattice", "near_boundary", "nodes_within"]

_LEAST = 256
"""Fewer nodes are all asked."""


Line: TypeAlias = npt.NDArray[np.floating[Any]]


def lattice(shape: shapely.Geometry, step_mm: float, more: int = 1) -> tuple[Ints, Ints]:
    """Return columns and rows, in steps from the origin, that cover a shape, and so many more all round.

    Examples
    --------
    >>> [line.tolist() for line in lattice(shapely.box(0, 0, 1.2, 0.5), 0.5)]
    [[-1, 0, 1, 2, 3, 4], [-1, 0, 1, 2]]
    """
    x0, y0, x1, y1 = np.array(shape.bounds) / step_mm
    columns, rows = (
        np.arange(math.floor(low) - more, math.ceil(high) + more + 1) for low, high in ((x0, x1), (y0, y1))
    )
    return columns, rows


def nodes_within(shape: shapely.Geometry, x: Line, y: Line) -> Flags:
    """Return for each node (r, c) of a square lattice whether it lies within a polygon, not on its boundary.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    x, y : float64 arrays of shape (c,) and (r,)
        Rising by one step.

    Notes
    -----
    The boundary is walked in half steps, and the nodes of every cell on the way are asked. Between two others
    of a row that lie side by side no boundary passes, so of each run of them only the first is asked.

    Examples
    --------
    >>> nodes_within(shapely.box(0, 0, 2.5, 1.5), np.arange(4.0), np.arange(3.0)).astype(int).tolist()
    [[0, 0, 0, 0], [0, 1, 1, 0], [0, 0, 0, 0]]
    """
    shapely.prepare(shape)
    if len(x) * len(y) < _LEAST:
        return np.asarray(shapely.contains_xy(shape, *np.meshgrid(x, y)))
    asked = near_boundary(shape, x, y)
    asked[:, 0] = True
    asked[:, 1:] |= asked[:, :-1]  # the first after those near the boundary
    row, column = np.nonzero(asked)
    found = np.zeros(asked.shape, dtype=bool)
    found[row, column] = shapely.contains_xy(shape, x[column], y[row])
    last = np.maximum.accumulate(np.where(asked, np.arange(len(x)), 0), axis=1)
    return np.take_along_axis(found, last, axis=1)


def near_boundary(shape: shapely.Geometry, x: Line, y: Line) -> Flags:
    """Return the nodes (r, c) of the cells through which the boundary passes, or beside which it does.

    Examples
    --------
    >>> near_boundary(shapely.box(0.5, 0.5, 3.5, 1.5), np.arange(5.0), np.arange(4.0)).astype(int).tolist()
    [[1, 1, 1, 1, 1], [1, 1, 1, 1, 1], [1, 1, 1, 1, 1], [0, 0, 0, 0, 0]]
    """
    step = x[1] - x[0]
    points = shapely.get_coordinates(shapely.segmentize(shapely.boundary(shape), step / 2))
    cells = np.floor((points - (x[0], y[0])) / step).astype(np.int64)
    near = np.zeros((len(y) + 2, len(x) + 2), dtype=bool)
    column, row = (np.clip(cells[:, axis] + 1, 0, size) for axis, size in ((0, len(x)), (1, len(y))))
    for up in (0, 1):
        for right in (0, 1):
            near[row + up, column + right] = True
    return near[1:-1, 1:-1]
