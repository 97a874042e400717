"""Repair of a mesh that is safe: points merged, doubled triangles dropped, sides turned, tiny holes filled.

No point moves by more than the grid, and nothing is cut or remeshed, so the shape stays what it was.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Flags, Ints, Triangles, Vertices
from ..polygons import GRID_MM
from ..polygons.groups import joined
from .validity import mesh_pieces

__all__ = ["TINY_MM", "Mending", "mended"]

TINY_MM = 0.8
"""Holes up to this size are filled: two lines of the usual nozzle, over which a print closes by itself."""

_CORNERS = 3
_MOST_HOLLOW = 100
"""Bodies, the largest first, that may have inner walls."""


@dataclass(frozen=True, slots=True)
class Mending:
    """What was done, and what was not.

    Parameters
    ----------
    merged : int
        Points merged into others.
    dropped : int
        Triangles without area, or doubled.
    turned : int
        Triangles turned round.
    filled : int
        Holes filled.
    left_mm : tuple of float
        Sizes of the holes that are too large to fill; 0.0 for one whose edge is no single ring.
    """

    merged: int
    dropped: int
    turned: int
    filled: int
    left_mm: tuple[float, ...]

    @property
    def did(self) -> bool:
        """Whether anything was repaired."""
        return bool(self.merged or self.dropped or self.turned or self.filled)


def mended(
    vertices: Vertices, triangles: Triangles, tiny_mm: float = TINY_MM
) -> tuple[Vertices, Triangles, Mending]:
    """Return a mesh with what is safe repaired; the same mesh where nothing is to do.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
    triangles : int32 array of shape (m, 3)
    tiny_mm : float
        Diagonal of the box of the largest hole that is filled.

    Examples
    --------
    >>> corner = np.array([[0, 0, 0], [3, 0, 0], [0, 3, 0], [0, 0, 3.0]])
    >>> faces = np.array([[0, 1, 2], [0, 1, 3], [1, 2, 3]])
    >>> mended(corner, faces, tiny_mm=9.0)[2]
    Mending(merged=0, dropped=0, turned=1, filled=1, left_mm=())
    """
    points, faces, merged = _merged(vertices, triangles)
    kept = _once(faces)
    points, closed, filled, left = _filled(points, _turned_alike(kept), tiny_mm)
    out = _turned_out(points, closed)
    turned = int((out[: len(kept)] != kept).any(axis=1).sum())
    done = Mending(merged, len(triangles) - len(kept), turned, filled, left)
    return points, out.astype(np.int32), done


def _merged(vertices: Vertices, triangles: Triangles) -> tuple[Vertices, Ints, int]:
    """Merge points in one cell of the grid; each keeps the place of the first there. Unused ones go."""
    used, of_used = np.unique(triangles, return_inverse=True)
    cells = np.rint(vertices[used] / GRID_MM).astype(np.int64)
    _, first, cell = np.unique(cells, axis=0, return_index=True, return_inverse=True)
    faces = cell.reshape(-1)[of_used].reshape(-1, _CORNERS)
    return vertices[used][first], faces.astype(np.int64), len(used) - len(first)


def _once(faces: Ints) -> Ints:
    """Drop triangles without three corners; of equal ones keep one, of two that face each other none."""
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    order = np.argsort(faces, axis=1)
    ranked = np.take_along_axis(faces, order, axis=1)
    even = (order[:, 1] - order[:, 0]) % _CORNERS == 1  # corners run the way of their numbers
    _, first, of = np.unique(ranked, axis=0, return_index=True, return_inverse=True)
    ways = np.bincount(of.reshape(-1), weights=np.where(even, 1.0, -1.0))
    kept = np.zeros(len(faces), dtype=bool)
    kept[first[ways != 0]] = True
    return faces[kept]


def _turned_alike(faces: Ints) -> Ints:
    """Turn triangles so that neighbors run along their common edge in opposite ways, body by body.

    From the first triangle of each body outward, one ring of neighbors after the other.
    """
    beside, alike = _neighbors(faces)
    if not alike.any():
        return faces
    rows = np.repeat(np.arange(len(faces)), _CORNERS)
    known = beside.reshape(-1) >= 0
    _, body = joined(len(faces), rows[known], beside.reshape(-1)[known])
    front = np.unique(body, return_index=True)[1]
    turned, seen = np.zeros(len(faces), dtype=bool), np.zeros(len(faces), dtype=bool)
    seen[front] = True
    while len(front):
        near, turn = beside[front], turned[front][:, None] ^ alike[front]
        fresh = (near >= 0) & ~seen[near]
        front, first = np.unique(near[fresh], return_index=True)
        turned[front], seen[front] = turn[fresh][first], True
    return np.where(turned[:, None], faces[:, ::-1], faces)


def _neighbors(faces: Ints) -> tuple[Ints, Flags]:
    """Return the triangle (m, 3) beyond each edge, -1 unless just two share it, and where both run alike."""
    start, end = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
    key = np.minimum(start, end) * (int(faces.max(initial=0)) + 1) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.r_[True, key[order][1:] != key[order][:-1]])
    pairs = first[np.diff(np.r_[first, len(key)]) == 2]
    a, b = order[pairs], order[pairs + 1]
    beside, alike = np.full(len(key), -1, dtype=np.int64), np.zeros(len(key), dtype=bool)
    beside[a], beside[b] = b // _CORNERS, a // _CORNERS
    alike[a] = alike[b] = start[a] == start[b]
    return beside.reshape(-1, _CORNERS), alike.reshape(-1, _CORNERS)


def _filled(points: Vertices, faces: Ints, tiny_mm: float) -> tuple[Vertices, Ints, int, tuple[float, ...]]:
    """Close tiny rings of open edges by a fan round their middle."""
    rings, loose = _open_rings(faces, len(points))
    sizes = [float(np.linalg.norm(np.ptp(points[ring], axis=0))) for ring in rings]
    tiny = [ring for ring, size in zip(rings, sizes, strict=True) if size <= tiny_mm]
    left = sorted(size for size in sizes if size > tiny_mm) + [0.0] * loose
    added = [faces]
    middles = []
    for number, ring in enumerate(tiny, start=len(points)):
        around = np.array(ring)
        middles.append(points[around].mean(axis=0))
        added.append(np.column_stack([np.roll(around, -1), around, np.full(len(around), number)]))
    grown = np.concatenate([points, np.array(middles)]) if middles else points
    return grown, np.concatenate(added), len(tiny), tuple(left)


def _open_rings(faces: Ints, count: int) -> tuple[list[list[int]], int]:
    """Return the rings of edges with one triangle only, and how many chains of them are no single ring."""
    start, end = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
    lone = ~np.isin(start * count + end, end * count + start)
    onward: dict[int, int] = {}
    forks: set[int] = set()
    for one, other in zip(start[lone].tolist(), end[lone].tolist(), strict=True):
        if one in onward:
            forks.add(one)
        onward[one] = other
    rings, loose = [], 0
    while onward:
        first, at = onward.popitem()
        ring = [first]
        while at in onward:
            ring.append(at)
            at = onward.pop(at)
        if at == first and len(ring) >= _CORNERS and not forks.intersection(ring):
            rings.append(ring)
        else:
            loose += 1
    return rings, loose


def _turned_out(points: Vertices, faces: Ints) -> Ints:
    """Turn bodies whose volume is negative, but for the inner walls of hollow ones."""
    count, piece = mesh_pieces(len(points), faces.astype(np.int32))
    origin = points[faces[np.unique(piece, return_index=True)[1], 0]][piece]
    a, b, c = (points[faces[:, corner]] - origin for corner in range(_CORNERS))
    volume = np.bincount(piece, weights=(a * np.cross(b, c)).sum(axis=1), minlength=count)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for corner in range(_CORNERS):
        np.minimum.at(low, piece, points[faces[:, corner]])
        np.maximum.at(high, piece, points[faces[:, corner]])
    inward = volume < 0
    for outer in np.argsort(-volume)[:_MOST_HOLLOW]:
        inward &= ~((low > low[outer]).all(axis=1) & (high < high[outer]).all(axis=1) & (volume[outer] > 0))
    return np.where(inward[piece][:, None], faces[:, ::-1], faces)
