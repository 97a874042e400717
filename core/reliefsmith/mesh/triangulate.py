"""Triangulation of polygons with holes: a fast engine, checked by count and exact area, and a second one.

Ear clipping is the fastest, but drops collinear vertices without a word: the area is still right and the
solid is open. They are put back (`with_dropped`). Every polygon must have vertices + 2 holes - 2 triangles
(Euler), all turning the same way, whose areas sum up to the polygon's exactly, in whole square grid steps;
what fails goes to a constrained Delaunay triangulation, which is slower but drops nothing.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import mapbox_earcut
import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Ints, Triangles
from ..polygons import from_grid
from .delaunay import improved
from .dropped import with_dropped
from .gridrings import Rings, doubled_areas, found_in

__all__ = ["doubled_triangle_areas", "triangulate"]

_KEPT = 32
"""Triangulations that are remembered: a changed height triangulates nothing again, of ten parts and more."""


def triangulate(rings: Rings) -> Triangles:
    """Triangulate polygons given as rings.

    Returns
    -------
    int32 array of shape (m, 3)
        Ints into `rings.points`, counter-clockwise; every vertex is used, none has zero area.

    Raises
    ------
    GeometryError
        If no engine gives a faithful triangulation.

    Examples
    --------
    >>> from .gridrings import rings_of
    >>> len(triangulate(rings_of(shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 6, 6))))
    8
    """
    if len(rings.polygon_starts) == 1:
        return np.empty((0, 3), dtype=np.int32)
    return _triangulated(
        *(part.tobytes() for part in (rings.points, rings.ring_starts, rings.polygon_starts))
    )


@lru_cache(maxsize=_KEPT)
def _triangulated(points: bytes, ring_starts: bytes, polygon_starts: bytes) -> Triangles:
    """Triangulate rings given as the bytes of their arrays; the result cannot be written to."""
    first, second, third = (np.frombuffer(part, np.int64) for part in (points, ring_starts, polygon_starts))
    rings = Rings(first.reshape(-1, 2), second, third)
    count = len(rings.polygon_starts) - 1
    found = [_ear_clipped(*_points_of(rings, index)) + rings.point_starts[index] for index in range(count)]
    wanted = np.add.reduceat(doubled_areas(rings), rings.polygon_starts[:-1])
    lengths = np.array([len(item) for item in found])
    shaped = np.split(improved(rings.points, np.concatenate(found)), np.cumsum(lengths)[:-1])
    for index in np.flatnonzero(_faults(rings, shaped, wanted)):
        shaped[index] = _second_try(rings, int(index), int(wanted[index]))
    triangles = np.concatenate(shaped).astype(np.int32)
    triangles.setflags(write=False)
    return triangles


def doubled_triangle_areas(points: Ints, triangles: Ints | Triangles) -> Ints:
    """Return twice the signed area of each triangle in square grid steps, exactly."""
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    ab, ac = b - a, c - a
    doubled: Ints = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    return doubled


def _points_of(rings: Rings, polygon: int) -> tuple[Ints, Ints]:
    """Return the points of one polygon, and where its rings begin in them."""
    first, last = rings.polygon_starts[polygon : polygon + 2]
    starts = rings.ring_starts[first : last + 1]
    return rings.points[starts[0] : starts[-1]], starts - starts[0]


def _faults(rings: Rings, found: list[Ints], wanted: Ints) -> list[bool]:
    """Tell for each polygon whether its triangles are too few, without area, or of another area."""
    return [
        bool(_fault(rings.points, triangles, _count(*_points_of(rings, index)), int(wanted[index])))
        for index, triangles in enumerate(found)
    ]


def _second_try(rings: Rings, polygon: int, area: int) -> Ints:
    """Triangulate one polygon by the second engine."""
    points, starts = _points_of(rings, polygon)
    triangles = _constrained_delaunay(points, starts)
    fault = _fault(points, triangles, _count(points, starts), area)
    if fault:
        x, y = from_grid(points[0])
        raise GeometryError(f"the shape at ({x:.2f}, {y:.2f}) mm cannot be triangulated: {fault}")
    moved: Ints = triangles + rings.point_starts[polygon]
    return moved


def _count(points: Ints, starts: Ints) -> int:
    """Return the number of triangles that a polygon must have."""
    return len(points) + 2 * (len(starts) - 2) - 2


def _fault(points: Ints, triangles: Ints, count: int, area: int) -> str:
    if len(triangles) != count:
        return "the count of triangles is wrong"
    areas = doubled_triangle_areas(points, triangles)
    if (areas <= 0).any():
        return "a triangle has no area"
    return "" if int(areas.sum()) == area else "the area is wrong"


def _ear_clipped(points: Ints, starts: Ints) -> Ints:
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
    return triangles


def _constrained_delaunay(points: Ints, starts: Ints) -> Ints:
    centered = (points - points[0]).astype(np.float64)
    rings = [centered[a:b] for a, b in pairwise(starts)]
    try:
        pieces = shapely.constrained_delaunay_triangles(shapely.Polygon(rings[0], rings[1:]))
    except shapely.GEOSException:
        return np.empty((0, 3), dtype=np.int64)
    corners = shapely.get_coordinates(shapely.get_parts(pieces)).reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    found = np.rint(corners).astype(np.int64) + points[0]
    index = found_in(found, points)
    if (index < 0).any():
        return np.empty((0, 3), dtype=np.int64)
    triangles = index.reshape(-1, 3)
    if doubled_triangle_areas(points, triangles).sum() < 0:
        triangles = triangles[:, ::-1]
    return triangles
