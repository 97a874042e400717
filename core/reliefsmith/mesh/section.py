"""Plane sections of meshes: the shape that a printer lays at one height."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Triangles, Vertices
from ..plane import as_multi, merged

__all__ = ["crossing", "cut"]

_LEAST_RING = 4
"""Points of a closed ring around some area: three and the first again."""


def crossing(vertices: Vertices, triangles: Triangles, z_mm: float) -> npt.NDArray[np.intp]:
    """Return the indices of the triangles that a horizontal plane cuts.

    A vertex in the plane counts as below it, so a plane through vertices still gives closed rings.
    """
    above = (vertices[:, 2] > z_mm)[triangles].sum(axis=1)
    return np.flatnonzero((above > 0) & (above < 3))


def cut(
    vertices: Vertices, triangles: Triangles, z_mm: float, cut_triangles: npt.NDArray[np.intp] | None = None
) -> shapely.MultiPolygon:
    """Return the section of a mesh at a height.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
    triangles : int32 array of shape (m, 3)
        A closed solid; of an open one only the rings that close are kept.
    z_mm : float
    cut_triangles : int array, optional
        What `crossing` returned for this height, if known.

    Notes
    -----
    The solid is where the winding number of the rings is not zero, so bodies that overlap are united and a
    solid turned inside out still has its shape.

    Examples
    --------
    >>> corner = np.array([[0, 0, 0], [4, 0, 0], [0, 4, 0], [0, 0, 4.0]])
    >>> cut(corner, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]), 2.0).area
    2.0
    """
    found = crossing(vertices, triangles, z_mm) if cut_triangles is None else cut_triangles
    if len(found) == 0:
        return shapely.MultiPolygon()
    start, end, place = _segments(vertices, triangles[found], z_mm)
    rings = _rings(start, end, place)
    if not rings:
        return shapely.MultiPolygon()
    outlines = shapely.multilinestrings([shapely.linestrings(ring) for ring in rings])
    if shapely.is_simple(outlines):
        return as_multi(shapely.build_area(outlines))
    return _wound(rings)


def _segments(
    vertices: Vertices, triangles: Triangles, z_mm: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    """Return for each triangle the cut edges where its segment starts and ends, and the place of each edge.

    Segments run with the solid on their left, seen from above.
    """
    up = (vertices[:, 2] > z_mm)[triangles]
    lone_up = up.sum(axis=1) == 1
    lone = np.where(lone_up, up.argmax(axis=1), (~up).argmax(axis=1))
    row = np.arange(len(triangles))
    a, b, c = (triangles[row, (lone + step) % 3].astype(np.int64) for step in range(3))
    one, other = _edge(a, b, len(vertices)), _edge(a, c, len(vertices))
    keys, index = np.unique(np.concatenate([one, other]), return_inverse=True)
    low, high = np.divmod(keys, len(vertices))
    share = (z_mm - vertices[low, 2]) / (vertices[high, 2] - vertices[low, 2])
    place = vertices[low, :2] + share[:, None] * (vertices[high, :2] - vertices[low, :2])
    first, second = np.split(index.reshape(-1), 2)
    return np.where(lone_up, first, second), np.where(lone_up, second, first), place


def _edge(a: npt.NDArray[np.int64], b: npt.NDArray[np.int64], count: int) -> npt.NDArray[np.int64]:
    key: npt.NDArray[np.int64] = np.minimum(a, b) * count + np.maximum(a, b)
    return key


def _rings(
    start: npt.NDArray[np.int64], end: npt.NDArray[np.int64], place: npt.NDArray[np.float64]
) -> list[npt.NDArray[np.float64]]:
    """Chain segments into closed rings; a chain that does not close is left out.

    A loop over segments, because each step depends on the one before.
    """
    after: dict[int, list[int]] = {}
    for one, other in zip(start.tolist()[::-1], end.tolist()[::-1], strict=True):
        after.setdefault(one, []).append(other)
    rings = []
    for first in start.tolist():
        chain = [first]
        while (onward := after.get(chain[-1])) and (len(chain) == 1 or chain[-1] != first):
            chain.append(onward.pop())
        if len(chain) >= _LEAST_RING and chain[-1] == first:
            rings.append(place[chain])
    return rings


def _wound(rings: list[npt.NDArray[np.float64]]) -> shapely.MultiPolygon:
    """Return the union of the faces that rings crossing each other wind around."""
    lines = shapely.union_all([shapely.linestrings(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    kept = [face for face in faces if _winding(rings, face.representative_point()) != 0]
    return merged(kept)


def _winding(rings: list[npt.NDArray[np.float64]], point: shapely.Point) -> int:
    """Count how often rings go round a point, by their crossings of a ray to the right of it."""
    total = 0
    for ring in rings:
        x, y = ring[:, 0] - point.x, ring[:, 1] - point.y
        rising = (y[:-1] <= 0) & (y[1:] > 0)
        falling = (y[:-1] > 0) & (y[1:] <= 0)
        left = x[:-1] * y[1:] - x[1:] * y[:-1]
        total += int((rising & (left > 0)).sum()) - int((falling & (left < 0)).sum())
    return total
