"""Triangles of a polygon that use just its own vertices, every one of them.

The fast engine (ear clipping) may drop vertices that lie on a straight line between their neighbors: the
area stays right, but a wall built on the same ring would not meet the cap. Euler's formula tells: a polygon
with n vertices and h holes has n + 2 h - 2 triangles. Where the count or area is off, a constrained Delaunay
triangulation takes over.
"""

from __future__ import annotations

import mapbox_earcut
import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Points, Triangles

__all__ = ["rings_of", "triangulated"]

AREA_SHARE = 1e-9
"""How far the triangles' area may be off the polygon's, as a share: float64 noise, no shape."""


def rings_of(polygon: shapely.Polygon) -> list[Points]:
    """Return the rings of a polygon without closing points, outside counter-clockwise, holes clockwise."""
    oriented = shapely.orient_polygons(polygon)
    rings = [oriented.exterior, *oriented.interiors]
    return [shapely.get_coordinates(ring)[:-1] for ring in rings]


def triangulated(polygon: shapely.Polygon) -> tuple[Points, Triangles]:
    """Triangulate a polygon on its own vertices.

    Parameters
    ----------
    polygon : Polygon
        Valid, no two of its rings touching.

    Returns
    -------
    points : float64 array of shape (n, 2)
        The vertices of the rings in the order of `rings_of`.
    triangles : int32 array of shape (n + 2 h - 2, 3)
        Counter-clockwise.

    Raises
    ------
    GeometryError
        If neither engine gives a whole triangulation.
    """
    rings = rings_of(polygon)
    points = np.concatenate(rings)
    for engine in (_ear_clipped, _delaunay):
        triangles = engine(polygon, rings, points)
        if _is_whole(points, triangles, len(rings) - 1, polygon.area):
            return points, triangles
    x, y = points[0]
    raise GeometryError(f"a shape near ({x:.2f}, {y:.2f}) mm cannot be filled with triangles; smooth it")


def _ear_clipped(_polygon: shapely.Polygon, rings: list[Points], points: Points) -> Triangles:
    ends = np.cumsum([len(ring) for ring in rings]).astype(np.uint32)
    found = mapbox_earcut.triangulate_float64(np.ascontiguousarray(points), ends)
    triangles = np.asarray(found, dtype=np.int32).reshape(-1, 3)
    corners = points[triangles[: min(len(triangles), 1)]]
    if len(corners) and _twice_areas(points, triangles).sum() < 0:
        triangles = triangles[:, ::-1]
    return np.ascontiguousarray(triangles)


def _delaunay(polygon: shapely.Polygon, _rings: list[Points], points: Points) -> Triangles:
    found = shapely.get_coordinates(shapely.constrained_delaunay_triangles(polygon)).reshape(-1, 4, 2)[:, :3]
    keys = {(x, y): index for index, (x, y) in enumerate(points.tolist())}
    try:  # one look-up a corner: the engine gives coordinates, the mesh needs indices
        flat = [keys[x, y] for x, y in found.reshape(-1, 2).tolist()]
    except KeyError:
        return np.zeros((0, 3), np.int32)
    triangles = np.array(flat, dtype=np.int32).reshape(-1, 3)
    if _twice_areas(points, triangles).sum() < 0:
        triangles = triangles[:, ::-1]
    return np.ascontiguousarray(triangles)


def _twice_areas(points: Points, triangles: Triangles) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    a, b, c = points[triangles[:, 0]], points[triangles[:, 1]], points[triangles[:, 2]]
    ab, ac = b - a, c - a
    return np.asarray(ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])


def _is_whole(points: Points, triangles: Triangles, holes: int, area: float) -> bool:
    if len(triangles) != len(points) + 2 * holes - 2:
        return False
    return bool(abs(_twice_areas(points, triangles).sum() / 2 - area) <= AREA_SHARE * area)
