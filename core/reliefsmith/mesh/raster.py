"""Triangles painted into a grid of heights: what is highest, what is lowest, how much lies between.

Each triangle is cut into the rows of the grid that it meets and each row into its columns, all at once, so
the work is that of the nodes covered, however large or slender the triangles are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Floats, Ints, Triangles, Vertices
from ..polygons.groups import counted_on

__all__ = ["Nodes", "Painted", "painted"]

_ROUNDING = 1e-7
"""Share of a step by which a node may lie beside a triangle, so that none is missed on a common edge."""

_UPRIGHT = 1e-9
"""Triangles of which less is seen from above (mm2) are walls."""


@dataclass(frozen=True, slots=True)
class Nodes:
    """A grid of places: column i and row k lie at low + step (i, k), rows upward.

    Parameters
    ----------
    low_mm : (float, float)
    step_mm : float
    size : (int, int)
        Columns and rows.
    """

    low_mm: tuple[float, float]
    step_mm: float
    size: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Painted:
    """What a surface has above each node, arrays (rows, columns) in mm.

    Parameters
    ----------
    highest : float64 array
        Of what faces up; NaN where nothing does.
    lowest : float64 array
        Of what faces down; NaN where nothing does.
    filled : float64 array
        How much of the height a closed solid fills.
    """

    highest: Floats
    lowest: Floats
    filled: Floats


def painted(vertices: Vertices, triangles: Triangles, nodes: Nodes) -> Painted:
    """Paint a surface into a grid.

    Examples
    --------
    >>> corners = np.array([[0, 0, 0], [4, 0, 0], [0, 4, 0], [0, 0, 4.0]])
    >>> solid = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    >>> painted(corners, solid, Nodes((0.5, 0.5), 1.0, (3, 1))).highest.tolist()
    [[3.0, 2.0, 1.0]]
    """
    columns, rows = nodes.size
    corners = vertices[triangles].astype(np.float64)
    corners[:, :, :2] = (corners[:, :, :2] - nodes.low_mm) / nodes.step_mm
    a, b, c = (corners[:, k] for k in range(3))
    (ux, uy, uz), (vx, vy, vz) = (b - a).T, (c - a).T
    area = ux * vy - uy * vx
    seen = np.abs(area) * nodes.step_mm**2 > _UPRIGHT
    corners, area = corners[seen], area[seen]
    ux, uy, uz, vx, vy, vz = (item[seen] for item in (ux, uy, uz, vx, vy, vz))
    slope = np.column_stack([(uz * vy - vz * uy) / area, (vz * ux - uz * vx) / area])
    owner, row = _ranges(corners[:, :, 1].min(axis=1), corners[:, :, 1].max(axis=1), rows)
    left, right = _crossed(corners[owner], row)
    piece, column = _ranges(left, right, columns)
    owner, row = owner[piece], row[piece]
    first = corners[owner, 0]
    z = first[:, 2] + (column - first[:, 0]) * slope[owner, 0] + (row - first[:, 1]) * slope[owner, 1]
    place, up = row * columns + column, area[owner] > 0
    highest, lowest = np.full(rows * columns, -np.inf), np.full(rows * columns, np.inf)
    np.maximum.at(highest, place[up], z[up])
    np.minimum.at(lowest, place[~up], z[~up])
    filled = _sum_of_distinct(place[up], z[up], rows * columns)
    filled -= _sum_of_distinct(place[~up], z[~up], rows * columns)
    shape = (rows, columns)
    highest[np.isinf(highest)] = lowest[np.isinf(lowest)] = np.nan
    return Painted(highest.reshape(shape), lowest.reshape(shape), filled.reshape(shape))


def _ranges(low: Floats, high: Floats, count: int) -> tuple[Ints, Ints]:
    """Return all whole numbers from low to high within 0 to count, and which range each is of."""
    first = np.maximum(np.ceil(low - _ROUNDING), 0).astype(np.int64)
    last = np.minimum(np.floor(high + _ROUNDING), count - 1).astype(np.int64)
    numbers, owner = counted_on(first, np.maximum(last - first + 1, 0))
    return owner, numbers


def _crossed(corners: Floats, row: Ints) -> tuple[Floats, Floats]:
    """Return from where to where each triangle (n, 3, 3) is met by its row."""
    left, right = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for start, end in ((0, 1), (1, 2), (2, 0)):
        (x0, y0), (x1, y1) = corners[:, start, :2].T, corners[:, end, :2].T
        share = np.divide(row - y0, y1 - y0, out=np.zeros(len(row)), where=y1 != y0)
        meets = (row >= np.minimum(y0, y1) - _ROUNDING) & (row <= np.maximum(y0, y1) + _ROUNDING)
        x = x0 + np.clip(share, 0, 1) * (x1 - x0)
        left = np.where(meets, np.minimum(left, x), left)
        right = np.where(meets, np.maximum(right, x), right)
    return left, right


def _sum_of_distinct(place: Ints, z: Floats, count: int) -> Floats:
    """Return the sum of heights at each place; equal ones, of triangles that share the node, count once."""
    level = np.round(z, 5)
    order = np.lexsort((level, place))
    place, level = place[order], level[order]
    fresh = np.ones(len(place), dtype=bool)
    fresh[1:] = (place[1:] != place[:-1]) | (np.abs(level[1:] - level[:-1]) > 2e-5)
    sums: Floats = np.bincount(place[fresh], level[fresh], count).astype(np.float64)
    return sums
