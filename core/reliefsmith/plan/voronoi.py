"""Voronoi diagrams of boundary samples, of which the medial axis of an area is a part."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..errors import GeometryError

__all__ = ["packed", "ridges_between"]

_Indices = npt.NDArray[np.int64]
_Floats = npt.NDArray[np.float64]

_FAR_MM = 1e6
_SCALES = (1.0, 1000.0, 7.0, 0.03)


def ridges_between(sites: _Floats) -> tuple[_Floats, _Indices, _Indices]:
    """Return the Voronoi diagram of points.

    Parameters
    ----------
    sites : float64 array of shape (n, 2)
        Each point once, sorted by x and then y, rounded to a millionth of a millimetre.

    Returns
    -------
    (k, 2) vertices, (m, 2) ridges, (m, 2) sites
        The vertices, the indices of the two that each ridge joins, and those of the sites on both its sides.

    Raises
    ------
    GeometryError
        If the engine cannot triangulate the points at any scale.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [0.0, 2.0], [2.0, 0.0], [2.0, 2.0]])
    >>> vertices, ridges, sites = ridges_between(square)
    >>> vertices.tolist(), ridges.tolist(), len(sites)
    ([[1.0, 1.0], [1.0, 1.0]], [[0, 1]], 1)
    """
    corners = np.round(_delaunay(sites), 6)
    index = _find_rows(sites, corners.reshape(-1, 2)).reshape(-1, 3)
    edges = np.sort(index[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    key = edges[:, 0] * len(sites) + edges[:, 1]
    order = np.argsort(key, kind="stable")
    key, edges, triangle = key[order], edges[order], order // 3
    twin = np.flatnonzero(key[1:] == key[:-1])
    ridges = np.column_stack([triangle[twin], triangle[twin + 1]])
    return _circumcenters(corners), ridges, edges[twin]


def _delaunay(sites: _Floats) -> _Floats:
    """Return the corners (n, 3, 2) of the Delaunay triangles of points.

    GEOS loses its way on rare sets of points ("could not locate vertex") that it triangulates at another
    scale; a scale by whole numbers changes no triangle.
    """
    for scale in _SCALES:
        try:
            # A line is made far faster than points, and its vertices are triangulated just the same.
            triangles = shapely.delaunay_triangles(shapely.linestrings(sites * scale))
        except shapely.GEOSException:
            continue
        corners: _Floats = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3] / scale
        return corners
    x, y = sites[0]
    raise GeometryError(f"strokes near ({x:.1f}, {y:.1f}) mm cannot be measured; change the width a little")


def _find_rows(rows: _Floats, wanted: _Floats) -> _Indices:
    """Return the index of each wanted row in `rows`, which are sorted and hold them all."""
    return np.asarray(np.searchsorted(packed(rows, rows), packed(wanted, rows)), dtype=np.int64)


def packed(points: _Floats, within: _Floats) -> _Indices:
    """Return points as numbers that sort as they do, by x and then y, to a millionth of a millimetre."""
    low = np.rint(within.min(axis=0) * 1e6)
    span = int(np.rint(within[:, 1].max() * 1e6) - low[1]) + 1
    keys = (np.rint(points * 1e6) - low).astype(np.int64)
    packed: _Indices = keys[:, 0] * span + keys[:, 1]
    return packed


def _circumcenters(corners: _Floats) -> _Floats:
    first = corners[:, 0]
    b, c = corners[:, 1] - first, corners[:, 2] - first
    twice = 2 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    twice[twice == 0] = np.finfo(np.float64).tiny
    bb, cc = (b**2).sum(axis=1), (c**2).sum(axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        x = (c[:, 1] * bb - b[:, 1] * cc) / twice
        y = (b[:, 0] * cc - c[:, 0] * bb) / twice
    offset: _Floats = np.column_stack([x, y])
    near = (np.abs(offset) < _FAR_MM).all(axis=1)
    offset[~near] = _FAR_MM  # a flat triangle: its center lies far away, where nothing is kept
    return first + offset
