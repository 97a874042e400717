"""Put back vertices that ear clipping dropped because they lay on a straight line.

Such a vertex leaves a long edge on one side and two or more short ones, or the ring itself, on the other. The
triangle at the long edge is cut into a fan through the short ones. This is what makes the fast engine usable
on a grid, where collinear vertices are common; only lines that overlap in part are left to the second engine.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from ..model.arrays import Ints
from ..polygons.groups import sorted_distinct

__all__ = ["with_dropped"]


def with_dropped(points: Ints, following: Ints, triangles: Ints) -> Ints:
    """Return the triangulation with dropped collinear vertices put back in.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
    following : int64 array of shape (n,)
        The point after each point on its ring, with the material on the left.
    triangles : int64 array of shape (m, 3)
        Counter-clockwise.

    Examples
    --------
    >>> points = np.array([[0, 0], [1, 0], [2, 0], [0, 2]])
    >>> with_dropped(points, np.array([1, 2, 3, 0]), np.array([[0, 2, 3]])).tolist()
    [[0, 1, 3], [1, 2, 3]]
    """
    long_edges, owners, needed = _unmatched(len(points), following, triangles)
    cut = triangles.tolist()
    owner = {(a, b): index for (a, b), index in zip(long_edges, owners, strict=True)}
    place = points.tolist()
    for start, end in list(owner):  # a loop over the few edges that have no partner
        chain = _chain(place, needed, start, end)
        if len(chain) > 2:
            _fan(cut, owner, owner[start, end], chain)
    return np.array(cut, dtype=np.int64).reshape(-1, 3)


def _unmatched(
    count: int, following: Ints, triangles: Ints
) -> tuple[list[list[int]], list[int], dict[int, list[int]]]:
    """Return edges without a partner, the triangle of each, and the partners that are missing, by start."""
    start = triangles.reshape(-1)
    end = np.roll(triangles, -1, axis=1).reshape(-1)
    here = np.arange(count)
    # Each edge of a triangle has its partner in another triangle, or on the outside of the ring.
    present = np.concatenate([start * count + end, following * count + here])
    partners = np.concatenate([end * count + start, here * count + following])
    ranked = np.sort(present)
    lacking = ranked[np.minimum(np.searchsorted(ranked, partners), len(ranked) - 1)] != partners
    alone = np.flatnonzero(lacking[: len(start)])
    missing = sorted_distinct(partners[lacking])
    needed: dict[int, list[int]] = {}
    for one, other in zip(*(item.tolist() for item in np.divmod(missing, count)), strict=True):
        needed.setdefault(one, []).append(other)
    edges = np.column_stack([start[alone], end[alone]]).tolist()
    return edges, (alone // 3).tolist(), needed


def _chain(place: list[list[int]], needed: dict[int, list[int]], start: int, end: int) -> list[int]:
    """Return the vertices from start to end along missing edges on the straight line, or just the start."""
    chain = [start]
    (x0, y0), (x1, y1) = place[start], place[end]
    length = (x1 - x0) ** 2 + (y1 - y0) ** 2
    done = 0
    while chain[-1] != end:
        ahead = []
        for vertex in needed.get(chain[-1], ()):
            x, y = place[vertex]
            along = (x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)
            off = (x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)
            if off == 0 and done < along <= length:
                ahead.append((along, vertex))
        if not ahead:
            return [start]
        done, vertex = min(ahead)
        chain.append(vertex)
    return chain


def _fan(cut: list[list[int]], owner: dict[tuple[int, int], int], index: int, chain: list[int]) -> None:
    """Cut a triangle into a fan from its apex to a chain along its edge, in place."""
    start, end = chain[0], chain[-1]
    apex = next(corner for corner in cut[index] if corner not in (start, end))
    fan = [[a, b, apex] for a, b in pairwise(chain)]
    cut[index] = fan[0]
    cut.extend(fan[1:])
    if (end, apex) in owner:
        owner[end, apex] = len(cut) - 1
