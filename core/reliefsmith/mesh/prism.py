"""Closed prisms: one ring of vertices serves top, bottom and wall, so the solid is closed by construction."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ..model.arrays import Triangles, Vertices
from .triangulate import rings_of, triangulated

__all__ = ["prism"]


def prism(polygons: Sequence[shapely.Polygon], bottom_mm: float, top_mm: float) -> tuple[Vertices, Triangles]:
    """Extrude polygons, no two of which touch, between two heights.

    Parameters
    ----------
    polygons : sequence of Polygon
    bottom_mm, top_mm : float
        `bottom_mm` is below `top_mm`.

    Returns
    -------
    vertices : float64 array of shape (2 n, 3)
        For each polygon its bottom ring vertices, then the same at the top.
    triangles : int32 array of shape (4 n + 4 h - 4, 3) for each polygon of n vertices and h holes
        Counter-clockwise seen from outside (Euler-Poincare formula).
    """
    vertices: list[Vertices] = []
    triangles: list[Triangles] = []
    start = 0
    for polygon in polygons:
        points, cap = triangulated(polygon)
        n = len(points)
        vertices += [np.column_stack([points, np.full(n, height)]) for height in (bottom_mm, top_mm)]
        wall = _wall([len(ring) for ring in rings_of(polygon)], n)
        triangles.append(np.concatenate([cap[:, ::-1], cap + n, wall]) + start)
        start += 2 * n
    return np.concatenate(vertices), np.concatenate(triangles).astype(np.int32)


def _wall(lengths: list[int], n: int) -> Triangles:
    """Return two triangles for each ring edge; rings run with the material on their left."""
    here = np.arange(n, dtype=np.int32)
    after = here + 1
    ends = np.cumsum(lengths)
    after[ends - 1] = ends - np.asarray(lengths)
    lower = np.column_stack([here, after, after + n])
    upper = np.column_stack([here, after + n, here + n])
    return np.concatenate([lower, upper]).astype(np.int32)
