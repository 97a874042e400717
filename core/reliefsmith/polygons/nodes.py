"""Lattices round a shape, and which nodes lie within it."""

from __future__ import annotations

import math
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Flags, Ints

__all__ = ["lattice", "nodes_within"]

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

    Examples
    --------
    >>> nodes_within(shapely.box(0, 0, 2.5, 1.5), np.arange(4.0), np.arange(3.0)).astype(int).tolist()
    [[0, 0, 0, 0], [0, 1, 1, 0], [0, 0, 0, 0]]
    """
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, *np.meshgrid(x, y)))
