"""Voronoi diagrams of boundary samples, of which the medial axis of an area is a part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ...errors import GeometryError
from ...model.arrays import Floats, Ints

__all__ = ["Ridges", "packed", "ridges_within"]

_FAR_MM = 1e6

_TURN = np.array([[np.cos(1.0), -np.sin(1.0)], [np.sin(1.0), np.cos(1.0)]])
_SHAKEN_MM = 4e-7
_TRIES = 4


@dataclass(frozen=True, slots=True)
class Ridges:
    """Ridges of a Voronoi diagram.

    Parameters
    ----------
    ends, sites : float64 arrays of shape (n, 2, 2)
        The two points that each ridge joins, and the two sites on its sides.
    """

    ends: Floats
    sites: Floats


def ridges_within(sites: Floats, reach: float) -> Ridges:
    """Return the ridges of the Voronoi diagram of points that are near their sites.

    Parameters
    ----------
    sites : float64 array of shape (n, 2)
        Each point once, three and more, sorted by x and then y, rounded to a millionth of a millimetre.
    reach : float
        Ridges are left out of which an end is not nearer to its sites than this, in mm.

    Raises
    ------
    GeometryError
        If the engine cannot triangulate the points.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [0.0, 2.0], [2.0, 0.0], [2.0, 2.0]])
    >>> ridges = ridges_within(square, 1.5)
    >>> ridges.ends.tolist(), len(ridges.sites)
    ([[[1.0, 1.0], [1.0, 1.0]]], 1)
    """
    index = np.sort(_find_rows(sites, _delaunay(sites).reshape(-1, 2)).reshape(-1, 3), axis=1)
    centers, radii = _circles(sites[index])
    edges = index[:, [0, 1, 1, 2, 0, 2]].reshape(-1, 2)
    key = edges[:, 0] * len(sites) + edges[:, 1]
    order = np.argsort(key, kind="stable")
    key = key[order]
    twin = np.flatnonzero(key[1:] == key[:-1])
    first, second = order[twin] // 3, order[twin + 1] // 3
    short = np.maximum(radii[first], radii[second]) < reach
    ridges = np.column_stack([first, second])[short]
    return Ridges(centers[ridges], sites[edges[order[twin[short]]]])


def _delaunay(sites: Floats) -> Floats:
    """Return the corners (n, 3, 2) of the Delaunay triangles of points.

    GEOS adds points by x, each from where the last one was. Boundaries often run along x or y, where this way
    is long: turned by an angle that is none of theirs, they take a fifth of the time. Points that lie on one
    line or circle lead it astray, now and then without a word (12 of 2,034 sets of samples of straight bars
    had wrong triangles), so they are shaken by less than the grid that they are rounded to.
    """
    for salt in range(_TRIES):
        try:
            # A line is made far faster than points, and its vertices are triangulated just the same.
            triangles = shapely.delaunay_triangles(shapely.linestrings(_shaken(sites, salt) @ _TURN))
        except shapely.GEOSException:
            continue
        corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3] @ _TURN.T
        rounded: Floats = np.round(corners, 6)
        return rounded
    x, y = sites[0]
    raise GeometryError(f"strokes near ({x:.1f}, {y:.1f}) mm cannot be measured; change the width a little")


def _shaken(sites: Floats, salt: int) -> Floats:
    """Return points moved by what a mix of their digits says, so each the same wherever it is looked at."""
    digits = np.rint(sites * 1e6).astype(np.int64).view(np.uint64)
    mixed = digits * np.uint64(0x9E3779B97F4A7C15) + digits[:, ::-1] * np.uint64(0xC2B2AE3D27D4EB4F)
    mixed = (mixed ^ (mixed >> np.uint64(29))) * np.uint64(0xBF58476D1CE4E5B9 + 2 * salt)
    share = (mixed >> np.uint64(11)) / 2.0**53
    moved: Floats = sites + _SHAKEN_MM * (2 * share - 1)
    return moved


def _find_rows(rows: Floats, wanted: Floats) -> Ints:
    """Return the index of each wanted row in `rows`, which are sorted and hold them all."""
    return np.asarray(np.searchsorted(packed(rows, rows), packed(wanted, rows)), dtype=np.int64)


def packed(points: Floats, within: Floats) -> Ints:
    """Return points as numbers that sort as they do, by x and then y, to a millionth of a millimetre."""
    low = np.rint(within.min(axis=0) * 1e6)
    span = int(np.rint(within[:, 1].max() * 1e6) - low[1]) + 1
    keys = (np.rint(points * 1e6) - low).astype(np.int64)
    packed: Ints = keys[:, 0] * span + keys[:, 1]
    return packed


def _circles(corners: Floats) -> tuple[Floats, Floats]:
    """Return the centers and radii of the circles round triangles (n, 3, 2)."""
    first = corners[:, 0]
    b, c = corners[:, 1] - first, corners[:, 2] - first
    twice = 2 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    twice[twice == 0] = np.finfo(np.float64).tiny
    bb, cc = (b**2).sum(axis=1), (c**2).sum(axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        x = (c[:, 1] * bb - b[:, 1] * cc) / twice
        y = (b[:, 0] * cc - c[:, 0] * bb) / twice
    offset: Floats = np.column_stack([x, y])
    near = (np.abs(offset) < _FAR_MM).all(axis=1)
    offset[~near] = _FAR_MM  # a flat triangle: its center lies far away, where nothing is kept
    return first + offset, np.hypot(*offset.T)
