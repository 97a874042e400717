"""Polygons to pixels: a window on the plan, and the exact share of every pixel that a shape covers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Floats
from .groups import counted_on

__all__ = ["View", "coverage", "coverages", "covering", "window"]

Plane = npt.NDArray[np.float32]

_ROOM = 1.04
"""Side of a square window by the longest side in it."""


@dataclass(frozen=True, slots=True)
class View:
    """A window on millimetres.

    Parameters
    ----------
    left_mm, top_mm : float
        The window's upper left corner, y up.
    px_per_mm : float
    size_px : (int, int)
    """

    left_mm: float
    top_mm: float
    px_per_mm: float
    size_px: tuple[int, int]

    @classmethod
    def around(cls, bounds: Sequence[float], px_per_mm: float, *, pad_mm: float = 0.0) -> View:
        """Return the window on a bounding box (x0, y0, x1, y1) with room all round."""
        low_x, low_y, high_x, high_y = bounds
        width = round((high_x - low_x + 2 * pad_mm) * px_per_mm) + 1
        height = round((high_y - low_y + 2 * pad_mm) * px_per_mm) + 1
        return cls(low_x - pad_mm, high_y + pad_mm, px_per_mm, (width, height))

    @classmethod
    def square(cls, bounds: Sequence[float], side_px: int) -> View:
        """Return the square window on a bounding box (x0, y0, x1, y1) with a little room all round."""
        low_x, low_y, high_x, high_y = bounds
        half = max(high_x - low_x, high_y - low_y) / 2 * _ROOM
        middle_x, middle_y = (low_x + high_x) / 2, (low_y + high_y) / 2
        return cls(middle_x - half, middle_y + half, side_px / (2 * half), (side_px, side_px))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in mm of the piece."""
        return (self.size_px[0] / self.px_per_mm, self.size_px[1] / self.px_per_mm)

    def part(self, left: int, top: int, right: int, bottom: int) -> View:
        """Return the window on some of the pixels."""
        at = (self.left_mm + left / self.px_per_mm, self.top_mm - top / self.px_per_mm)
        return View(*at, self.px_per_mm, (right - left, bottom - top))

    def to_px(self, points: Floats) -> Floats:
        """Return pixel coordinates, (0, 0) at the upper left corner, of points (n, 2) in mm."""
        placed: Floats = (points - (self.left_mm, self.top_mm)) * (self.px_per_mm, -self.px_per_mm)
        return placed


def coverage(shape: shapely.Geometry, view: View) -> Plane:
    """Return how much of each pixel a shape covers, float32 (h, w), 0 to 1, exact for its polygons.

    Every edge is cut at the pixel lines; each piece adds what it closes off of its own pixel, and its height
    to all pixels right of it, which a running sum over the row spreads (the signed-area method of outline
    font rasterizers). Holes come right because outlines and holes are turned against each other first.

    Examples
    --------
    >>> view = View(0.0, 2.0, 1.0, (3, 2))
    >>> coverage(shapely.box(0.5, 0.0, 2.25, 2.0), view).tolist()
    [[0.5, 1.0, 0.25], [0.5, 1.0, 0.25]]
    """
    covered: Plane = coverages([shape], view)[1]
    return covered


def coverages(shapes: Sequence[shapely.Geometry], view: View) -> Plane:
    """Return what is left free of each pixel and how much each shape covers, float32 (count + 1, h, w).

    The shapes do not overlap, so that the planes add up to one.
    """
    width, height = view.size_px
    planes = np.zeros((len(shapes) + 1, height, width), dtype=np.float32)
    planes[0] = 1.0
    for plane, shape in zip(planes[1:], shapes, strict=True):
        found = window(shape, view)
        if found is not None:
            rows, columns, covered = found
            plane[rows, columns] = covered
            planes[0, rows, columns] -= plane[rows, columns]
    np.maximum(planes[0], 0.0, out=planes[0])
    return planes


def covering(shapes: Sequence[shapely.Geometry], view: View) -> npt.NDArray[np.uint8]:
    """Return what covers most of each pixel, uint8 (h, w): i for `shapes[i - 1]`, 0 where most is free.

    The shapes do not overlap.

    Examples
    --------
    >>> view = View(0.0, 1.0, 1.0, (3, 1))
    >>> covering([shapely.box(0, 0, 1.4, 1), shapely.box(1.4, 0, 2.2, 1)], view).tolist()
    [[1, 2, 0]]
    """
    width, height = view.size_px
    number = np.zeros((height, width), dtype=np.uint8)
    free, most = np.ones((2, height, width), dtype=np.float32)
    for index, shape in enumerate(shapes, start=1):
        found = window(shape, view)
        if found is None:
            continue
        rows, columns, covered = found
        free[rows, columns] -= covered
        best, own = most[rows, columns], number[rows, columns]
        wins = (covered > 0) & ((own == 0) | (covered > best))
        best[wins], own[wins] = covered[wins], index
    number[free > np.where(number > 0, most, 0)] = 0
    return number


def window(shape: shapely.Geometry, view: View) -> tuple[slice, slice, Floats] | None:
    """Return the rows and columns in which a shape lies and what it covers of their pixels."""
    width, height = view.size_px
    across, down, rise = _pieces(*_edges(shape, view))
    across, row = np.clip(across, 0, width), np.floor(down).astype(np.intp)
    inside = (row >= 0) & (row < height)
    across, row, rise = across[inside], row[inside], rise[inside]
    if not len(row):
        return None
    column = np.floor(across).astype(np.intp)
    top, left = int(row.min()), int(column.min())
    rows, columns = int(row.max()) + 1 - top, int(column.max()) + 2 - left
    beyond = rise * (across - column)
    at = (row - top) * columns + (column - left)
    cells = np.bincount(np.concatenate((at, at + 1)), np.concatenate((rise - beyond, beyond)), rows * columns)
    end = min(left + columns, width)
    spread: Floats = cells.reshape(rows, columns).astype(np.float64, copy=False)
    np.cumsum(spread, axis=1, out=spread)
    covered = spread[:, : end - left]
    np.minimum(np.abs(covered, out=covered), 1.0, out=covered)
    return slice(top, top + rows), slice(left, end), covered


def _edges(shape: shapely.Geometry, view: View) -> tuple[Floats, Floats]:
    """Return starts and steps, in pixels, of edges that bear on the window; holes turn against outlines."""
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(shape)))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if len(points) < 2:
        return np.zeros((0, 2)), np.zeros((0, 2))
    points = view.to_px(points)
    starts, ends = points[:-1], points[1:]
    low, high = np.minimum(starts, ends)[:, 1], np.maximum(starts, ends)[:, 1]
    bears = (ring[1:] == ring[:-1]) & (low < high) & (high > 0) & (low < view.size_px[1])
    starts, ends = starts[bears], ends[bears]
    low, high = np.minimum(starts, ends)[:, 0], np.maximum(starts, ends)[:, 0]
    for side, beside in ((0.0, high < 0), (float(view.size_px[0]), low > view.size_px[0])):
        starts[beside, 0] = ends[beside, 0] = side  # upright, so that nothing is cut where nothing is seen
    return starts, ends - starts


def _pieces(starts: Floats, steps: Floats) -> tuple[Floats, Floats, Floats]:
    """Cut edges at the pixel lines; return the middle (across, down) and the signed rise of every piece."""
    every = np.arange(len(starts))
    cut_x, share_x = _cuts(starts[:, 0], steps[:, 0])
    cut_y, share_y = _cuts(starts[:, 1], steps[:, 1])
    edge = np.concatenate((every, every, cut_x, cut_y))
    share = np.concatenate((np.zeros(len(every)), np.ones(len(every)), share_x, share_y))
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    same = edge[1:] == edge[:-1]
    edge, first, last = edge[:-1][same], share[:-1][same], share[1:][same]
    middle = (first + last) / 2
    at = starts[edge] + middle[:, None] * steps[edge]
    return at[:, 0], at[:, 1], (last - first) * steps[edge, 1]


def _cuts(start: Floats, step: Floats) -> tuple[npt.NDArray[np.intp], Floats]:
    """Return which edges cross whole numbers, and at which share of their length."""
    low, high = np.minimum(start, start + step), np.maximum(start, start + step)
    first = np.ceil(low)
    count = np.where(step != 0, np.maximum(np.floor(high) - first + 1, 0), 0).astype(np.intp)
    line, edge = counted_on(first.astype(np.intp), count)
    return edge, (line - start[edge]) / step[edge]
