"""Polygons as rings of whole grid steps: the form in which solids are built without rounding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Ints
from ..polygons import GRID_MM, on_grid, polygons_of, to_grid

__all__ = ["Rings", "doubled_areas", "found_in", "rings_of"]


_LEAST_POINTS = 3


@dataclass(frozen=True, slots=True)
class Rings:
    """The rings of polygons: exteriors counter-clockwise, holes clockwise, no point repeated at the end.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
        In grid steps, ring after ring.
    ring_starts : int64 array of shape (r + 1,)
        Where each ring begins in `points`.
    polygon_starts : int64 array of shape (p + 1,)
        Where each polygon's rings begin; the first of them is its exterior.
    """

    points: Ints
    ring_starts: Ints
    polygon_starts: Ints

    @property
    def following(self) -> Ints:
        """Index of the point that comes after each point on its ring."""
        after = np.arange(1, len(self.points) + 1)
        after[self.ring_starts[1:] - 1] = self.ring_starts[:-1]
        return after

    @property
    def point_starts(self) -> Ints:
        """Where each polygon's points begin."""
        return self.ring_starts[self.polygon_starts]


def rings_of(shape: shapely.Geometry) -> Rings:
    """Return the rings of a Polygon or MultiPolygon that stands on the grid.

    Raises
    ------
    GeometryError
        If a vertex is off the grid or a ring has no area.

    Examples
    --------
    >>> rings_of(shapely.box(0, 0, 0.002, 0.001)).points.tolist()
    [[2, 0], [2, 1], [0, 1], [0, 0]]
    """
    polygons = shapely.orient_polygons(np.asarray(polygons_of(shape), dtype=object))
    if len(polygons) == 0:
        none = np.zeros(1, dtype=np.int64)
        return Rings(np.empty((0, 2), dtype=np.int64), none, none)
    if not on_grid(shape):
        raise GeometryError(f"a solid needs points on the grid of {GRID_MM:g} mm; snap the polygons first")
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    ring_ends = np.concatenate([[0], np.cumsum(shapely.get_num_coordinates(rings))])
    polygon_starts = np.searchsorted(polygon, np.arange(len(polygons) + 1))
    points = to_grid(shapely.get_coordinates(rings))
    # The last point of a ring repeats its first; a valid ring may also repeat points in between.
    kept = np.ones(len(points), dtype=bool)
    kept[:-1] = (points[1:] != points[:-1]).any(axis=1)
    kept[ring_ends[1:] - 1] = False
    starts = np.concatenate([[0], np.cumsum(np.add.reduceat(kept, ring_ends[:-1], dtype=np.int64))])
    if (np.diff(starts) < _LEAST_POINTS).any():
        raise GeometryError("a ring has fewer than three points; simplify or remove the smallest areas")
    return Rings(points[kept], starts, polygon_starts.astype(np.int64))


def found_in(points: Ints, table: Ints) -> Ints:
    """Return the index in a table of distinct points of each point, or -1 where it is not there.

    Examples
    --------
    >>> table = np.array([[5, 0], [0, 7], [-3, 2]])
    >>> found_in(np.array([[0, 7], [-3, 2], [1, 1]]), table).tolist()
    [1, 2, -1]
    """
    if len(table) == 0 or len(points) == 0:
        return np.full(len(points), -1, dtype=np.int64)
    wanted, known = _keys(points), _keys(table)
    order = np.argsort(known, kind="stable")
    at = np.minimum(np.searchsorted(known, wanted, sorter=order), len(table) - 1)
    index: Ints = order[at]
    return np.where(known[index] == wanted, index, -1)


def _keys(points: Ints) -> Ints:
    """Return one number for each point, equal only for equal points up to 2 km: 32 bits a coordinate."""
    keys: Ints = points[:, 0] * 2**32 + points[:, 1]
    return keys


def doubled_areas(rings: Rings) -> Ints:
    """Return twice the signed area of each ring in square grid steps, exactly.

    Examples
    --------
    >>> doubled_areas(rings_of(shapely.box(0, 0, 0.003, 0.002))).tolist()
    [12]
    """
    if len(rings.points) == 0:
        return np.empty(0, dtype=np.int64)
    local = rings.points - np.repeat(rings.points[rings.ring_starts[:-1]], np.diff(rings.ring_starts), axis=0)
    after = local[rings.following]
    cross = local[:, 0] * after[:, 1] - local[:, 1] * after[:, 0]
    return np.add.reduceat(cross, rings.ring_starts[:-1])
