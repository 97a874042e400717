"""Triangulation of polygons with holes: a fast engine, checked by count and exact area, and a second one.

Ear clipping is the fastest, but drops collinear vertices without a word: the area is still right and the
solid is open. They are put back (`with_dropped`). Every polygon must have vertices + 2 holes - 2 triangles
(Euler), all turning the same way,
whose areas sum up to the polygon's exactly, in whole square grid steps; what fails goes to a constrained
Delaunay triangulation.
"""

from __future__ import annotations

from itertools import pairwise

import mapbox_earcut
import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Triangles
from ..plane import from_grid
from .dropped import with_dropped
from .flat_triangles import without_flat
from .rings import Indices, Rings, doubled_areas

__all__ = ["doubled_triangle_areas", "triangulate"]

_WRONG_COUNT = "the count of triangles is wrong"


def triangulate(rings: Rings) -> Triangles:
    """Triangulate polygons given as rings.

    Returns
    -------
    int32 array of shape (m, 3)
        Indices into `rings.points`, counter-clockwise; every vertex is used, none has zero area.

    Raises
    ------
    GeometryError
        If no engine gives a faithful triangulation.

    Examples
    --------
    >>> from .rings import rings_of
    >>> len(triangulate(rings_of(shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 6, 6))))
    8
    """
    areas = doubled_areas(rings)
    found = [_one(rings, index, areas) for index in range(len(rings.polygon_starts) - 1)]
    if not found:
        return np.empty((0, 3), dtype=np.int32)
    return np.concatenate(found).astype(np.int32)


def doubled_triangle_areas(points: Indices, triangles: Indices | Triangles) -> Indices:
    """Return twice the signed area of each triangle in square grid steps, exactly."""
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    ab, ac = b - a, c - a
    doubled: Indices = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    return doubled


def _one(rings: Rings, polygon: int, ring_areas: Indices) -> Indices:
    """Triangulate one polygon by the first engine that passes the checks."""
    first, last = rings.polygon_starts[polygon : polygon + 2]
    starts = rings.ring_starts[first : last + 1]
    points = rings.points[starts[0] : starts[-1]]
    area = int(ring_areas[first:last].sum())
    fault = ""
    for engine in (_ear_clipped, _constrained_delaunay):
        triangles = engine(points, starts - starts[0])
        fault = _fault(points, triangles, _count(points, starts), area)
        if not fault:
            moved: Indices = triangles + starts[0]
            return moved
    x, y = from_grid(points[0])
    raise GeometryError(f"the shape at ({x:.2f}, {y:.2f}) mm cannot be triangulated: {fault}")


def _count(points: Indices, starts: Indices) -> int:
    """Return the number of triangles that a polygon must have."""
    return len(points) + 2 * (len(starts) - 2) - 2


def _fault(points: Indices, triangles: Indices, count: int, area: int) -> str:
    if len(triangles) != count:
        return _WRONG_COUNT
    areas = doubled_triangle_areas(points, triangles)
    if (areas <= 0).any():
        return "a triangle has no area"
    return "" if int(areas.sum()) == area else "the area is wrong"


def _ear_clipped(points: Indices, starts: Indices) -> Indices:
    # Centred coordinates keep the engine's products of whole numbers exact.
    centered = (points - points[0]).astype(np.float64)
    flat = mapbox_earcut.triangulate_float64(centered, starts[1:].astype(np.uint32))
    triangles = flat.reshape(-1, 3).astype(np.int64)
    if doubled_triangle_areas(points, triangles).sum() < 0:  # the engine turns all of them the same way
        triangles = triangles[:, ::-1]
    if len(triangles) != _count(points, starts):
        following = np.arange(1, len(points) + 1)
        following[starts[1:] - 1] = starts[:-1]
        triangles = with_dropped(points, following, triangles)
    return without_flat(points, triangles)


def _constrained_delaunay(points: Indices, starts: Indices) -> Indices:
    centered = (points - points[0]).astype(np.float64)
    rings = [centered[a:b] for a, b in pairwise(starts)]
    try:
        pieces = shapely.constrained_delaunay_triangles(shapely.Polygon(rings[0], rings[1:]))
    except shapely.GEOSException:
        return np.empty((0, 3), dtype=np.int64)
    corners = shapely.get_coordinates(shapely.get_parts(pieces)).reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    found = np.rint(corners).astype(np.int64) + points[0]
    low, high = points.min(axis=0), points.max(axis=0)
    if (found < low).any() or (found > high).any():
        return np.empty((0, 3), dtype=np.int64)
    keys = _keys(points, low, high)
    order = np.argsort(keys, kind="stable")
    at = np.searchsorted(keys[order], _keys(found, low, high))
    triangles = order[np.minimum(at, len(order) - 1)].reshape(-1, 3)
    if not np.array_equal(points[triangles.reshape(-1)], found):
        return np.empty((0, 3), dtype=np.int64)
    if doubled_triangle_areas(points, triangles).sum() < 0:
        triangles = triangles[:, ::-1]
    return triangles


def _keys(points: Indices, low: Indices, high: Indices) -> Indices:
    """Return one number for each point; equal points get equal numbers."""
    keys: Indices = (points[:, 0] - low[0]) * (high[1] - low[1] + 1) + points[:, 1] - low[1]
    return keys
