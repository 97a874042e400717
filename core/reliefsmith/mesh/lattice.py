"""A lattice of points inside a shape, triangulated by itself, so that only a band along the edge is left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from ..model.arrays import Flags, Floats, Ints
from ..polygons import GRID_MM, as_multi, from_grid, nodes_within, shrink

__all__ = ["Cells", "Lattice", "lattice_cells"]

CLEAR = 0.4
"""Points keep this share of a step from the edge, so that the triangles between are no slivers."""

ALIKE = 0.1
"""Differences of height along the two diagonals count as equal within this share of their sum."""


Cells = Callable[[Ints, Ints], Flags]
"""Tells of the cells between columns (c,) and rows (r,) of the lattice, (r - 1, c - 1), which are wanted."""


@dataclass(frozen=True, slots=True)
class Lattice:
    """Square cells inside a shape.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
        The corners of the cells, in grid steps.
    cells : int64 array of shape (k, 4)
        The corners of each cell, counter-clockwise, as indices into the points.
    shape : MultiPolygon
        The union of the cells, with every corner on its rings; its rings do not touch.
    """

    points: Ints
    cells: Ints
    shape: shapely.MultiPolygon

    def triangles(self, heights: Floats) -> Ints:
        """Return two triangles for each cell, cut where the heights (n,) of its points differ less.

        Where both ways differ alike, the cut joins the higher pair of corners if the heights bend down, as
        along a crest, and the lower one in a valley. So slopes, crests and valleys run along the cuts,
        whichever way they go, and do not come out as saws.
        """
        own = heights[self.cells]
        around = np.repeat(own.sum(axis=1), 4) - own.reshape(-1)
        corner = self.cells.reshape(-1)
        number, size = np.bincount(corner), len(heights)
        above = heights - np.bincount(corner, around, size) / (3 * number)  # the mean of the neighbors
        bend = above[self.cells].sum(axis=1)
        one, two, three, four = own.T
        rise, fall = np.abs(one - three), np.abs(two - four)
        alike = np.abs(rise - fall) <= ALIKE * (rise + fall)
        rising = np.where(alike, (one + three - two - four) * bend >= 0, rise < fall)
        turned = np.where(rising[:, None], self.cells, np.roll(self.cells, -1, axis=1))
        return np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]])


def lattice_cells(shape: shapely.Geometry, step_mm: float, wanted: Cells | None = None) -> Lattice:
    """Return the cells of the square lattice through the origin that lie inside a shape.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    step_mm : float
        A whole number of grid steps.
    wanted : callable, optional
        Which cells are needed; all by default.

    Examples
    --------
    >>> cells = lattice_cells(shapely.box(0.5, 0.5, 3.5, 2.5), 1.0)
    >>> len(cells.points), len(cells.cells), cells.shape.area
    (6, 2, 2.0)
    """
    step = round(step_mm / GRID_MM)
    room = shrink(shape, CLEAR * step_mm)
    if room.is_empty:
        return _nothing()
    first_x, first_y, last_x, last_y = (round(bound / step_mm) for bound in room.bounds)
    columns, rows = np.arange(first_x, last_x + 1), np.arange(first_y, last_y + 1)
    corner = nodes_within(room, columns * step_mm, rows * step_mm)
    full = corner[:-1, :-1] & corner[1:, :-1] & corner[:-1, 1:] & corner[1:, 1:]
    if wanted is not None:
        full &= wanted(columns, rows)
    row, column = np.nonzero(full)
    low, high = (np.column_stack([columns[column + k], rows[row + k]]) * step_mm for k in (0, 1))
    # An opening or a notch may lie between the corners of a cell.
    full[row, column] = shapely.contains(room, shapely.box(*low.T, *high.T))
    full = _without_pinches(full)
    row, column = np.nonzero(full)
    if len(row) == 0:
        return _nothing()
    wide = corner.shape[1]
    lower = row * wide + column
    corners = np.column_stack([lower, lower + 1, lower + wide + 1, lower + wide])
    is_used = np.zeros(corner.size, dtype=np.bool_)
    is_used[corners] = True
    used, quads = np.flatnonzero(is_used), (np.cumsum(is_used) - 1)[corners]
    points = np.column_stack([columns[used % wide], rows[used // wide]]).astype(np.int64) * step
    return Lattice(points, quads.astype(np.int64), _outline(points, quads))


def _without_pinches(full: Flags) -> Flags:
    """Return cells of which no two touch at a corner only: of such a pair the upper one is left out."""
    kept = np.pad(full, 1)
    while True:
        low_left, low_right = kept[:-1, :-1], kept[:-1, 1:]
        up_left, up_right = kept[1:, :-1], kept[1:, 1:]
        rising = low_left & up_right & ~low_right & ~up_left
        falling = low_right & up_left & ~low_left & ~up_right
        if not (rising.any() or falling.any()):
            return kept[1:-1, 1:-1]
        up_right[rising] = False
        up_left[falling] = False


def _outline(points: Ints, quads: Ints) -> shapely.MultiPolygon:
    """Return the union of cells, by those of their sides that no other has: its rings do not touch."""
    sides = np.stack([quads, np.roll(quads, -1, axis=1)], axis=2).reshape(-1, 2)
    there, back = (sides[:, one] * len(points) + sides[:, 1 - one] for one in (0, 1))
    alone = sides[~np.isin(there, back, assume_unique=True)]
    return as_multi(
        shapely.build_area(shapely.multilinestrings(shapely.linestrings(from_grid(points)[alone])))
    )


def _nothing() -> Lattice:
    none = np.empty((0, 2), dtype=np.int64)
    return Lattice(none, np.empty((0, 4), dtype=np.int64), shapely.MultiPolygon())
