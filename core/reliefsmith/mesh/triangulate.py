"""Triangulation of polygons with holes: by GEOS, checked by count and exact area.

GEOS clips ears, then exchanges diagonals (C. L. Lawson, "Software for C1 Surface Interpolation", in:
Mathematical Software III (1977), 161-194) until none, but for a few in long strips, allows a greater least
angle. It adds no point and drops none, also of those on straight lines, which neighbors need to share edges.
Every polygon must get as many triangles as Euler's formula asks for, none without area, whose areas sum up to
the polygon's exactly, in whole square grid steps.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Ints, Triangles
from ..polygons import from_grid
from .gridrings import Rings, doubled_areas, found_in

__all__ = ["doubled_triangle_areas", "triangulate"]

_KEPT = 32
"""Triangulations that are remembered: a changed height triangulates nothing again, of ten parts and more."""


def triangulate(rings: Rings) -> Triangles:
    """Triangulate polygons given as rings.

    Returns
    -------
    int32 array of shape (m, 3)
        Indices into `rings.points`, counter-clockwise, none without area. Every vertex is used; where rings
        touch each other in a point, the first of its vertices stands for all.

    Raises
    ------
    GeometryError
        If a polygon gets no faithful triangulation.

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
    corners, owner = _constrained_delaunay(rings)
    triangles = found_in(corners, rings.points).reshape(-1, 3)
    if (triangles < 0).any():
        raise GeometryError("the shape cannot be triangulated: a triangle has a corner of its own")
    clockwise = doubled_triangle_areas(rings.points, triangles) < 0
    triangles[clockwise] = triangles[clockwise, ::-1]
    _refuse_faults(rings, triangles, owner)
    found = triangles.astype(np.int32)
    found.setflags(write=False)
    return found


def doubled_triangle_areas(points: Ints, triangles: Ints | Triangles) -> Ints:
    """Return twice the signed area of each triangle in square grid steps, exactly."""
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    ab, ac = b - a, c - a
    doubled: Ints = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    return doubled


def _constrained_delaunay(rings: Rings) -> tuple[Ints, Ints]:
    """Return the corners of all triangles (3 m, 2) in grid steps, and the polygon of each triangle (m,)."""
    ring_of_point = np.repeat(np.arange(len(rings.ring_starts) - 1), np.diff(rings.ring_starts))
    polygon_of_ring = np.repeat(np.arange(len(rings.polygon_starts) - 1), np.diff(rings.polygon_starts))
    outlines = shapely.linearrings(rings.points.astype(np.float64), indices=ring_of_point)
    polygons = shapely.polygons(outlines, indices=polygon_of_ring)
    try:
        found = shapely.constrained_delaunay_triangles(polygons)
    except shapely.GEOSException as error:
        raise GeometryError(f"the shape cannot be triangulated: {error}") from error
    triangles, owner = shapely.get_parts(found, return_index=True)
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    return np.rint(corners.reshape(-1, 2)).astype(np.int64), owner


def _refuse_faults(rings: Rings, triangles: Ints, owner: Ints) -> None:
    """Raise where the triangles of a polygon are too few or too many, without area, or of another area."""
    count = len(rings.polygon_starts) - 1
    polygon = np.repeat(np.arange(count), np.diff(rings.point_starts))
    places = np.unique(np.column_stack([polygon, rings.points]), axis=0)
    distinct, lengths = np.bincount(places[:, 0]), np.diff(rings.point_starts)
    # Euler's formula, with the corners, the edges of the rings and the openings of each polygon.
    wanted = 2 * distinct - lengths + 2 * np.diff(rings.polygon_starts) - 4
    areas = doubled_triangle_areas(rings.points, triangles)
    filled = np.zeros(count, dtype=np.int64)
    np.add.at(filled, owner, areas)
    flat = np.bincount(owner, areas <= 0, minlength=count) > 0
    outlines = np.add.reduceat(doubled_areas(rings), rings.polygon_starts[:-1])
    for wrong, fault in (
        (np.bincount(owner, minlength=count) != wanted, "the count of triangles is wrong"),
        (flat, "a triangle has no area"),
        (filled != outlines, "the area is wrong"),
    ):
        if wrong.any():
            x, y = from_grid(rings.points[rings.point_starts[int(np.argmax(wrong))]])
            raise GeometryError(f"the shape at ({x:.2f}, {y:.2f}) mm cannot be triangulated: {fault}")
