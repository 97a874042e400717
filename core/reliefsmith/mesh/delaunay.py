"""Better shaped triangles: exchange diagonals until the triangulation is the constrained Delaunay one.

C. L. Lawson, "Software for C1 Surface Interpolation", in: Mathematical Software III (1977), 161-194:
exchanging the diagonal of two triangles wherever their angles across it sum to over 180 degrees ends with the
greatest least angle that these vertices allow. Here many diagonals that share no triangle are exchanged at
once; what a round touches is all that the next one looks at.
"""

from __future__ import annotations

import numpy as np

from ..model.arrays import Flags, Floats, Ints
from .gridrings import sorted_distinct

__all__ = ["improved"]

_NOISE = 1e-9
"""Cotangents of two angles sum to this at least before a diagonal counts as bad: no endless exchanges."""

_ROUNDS = 400
"""Far more than any picture needs (tens); what is left then is still a whole triangulation."""


def improved(points: Ints, triangles: Ints) -> Ints:
    """Return a triangulation of the same area and edges of its outline, with the shape of triangles improved.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
        Whole grid steps, so areas are exact.
    triangles : int64 array of shape (m, 3)
        Counter-clockwise; triangles without area are exchanged away too.

    Notes
    -----
    A half-edge 3 t + k runs from corner k of triangle t to the next one; its partner runs back.

    Examples
    --------
    >>> points = np.array([[0, 0], [10, -1], [20, 0], [10, 1]])
    >>> improved(points, np.array([[0, 1, 2], [0, 2, 3]])).tolist()
    [[2, 3, 1], [0, 1, 3]]
    """
    corners = triangles.reshape(-1).copy()
    edge = np.arange(len(corners))
    after = edge - edge % 3 + (edge + 1) % 3  # the half-edge that comes after each in its triangle
    partner = _partners(len(points), corners, after)
    active = np.flatnonzero(partner >= 0)
    moved = np.arange(len(corners))
    worst = np.full(len(triangles), len(corners), dtype=np.int64)
    for _ in range(_ROUNDS):
        first = sorted_distinct(np.minimum(active, partner[active]))
        badness = _badness(points, corners, after, first, partner[first])
        bad = np.flatnonzero(badness < -_NOISE)
        if len(bad) == 0:
            break
        chosen = _apart(first[bad], partner[first[bad]], badness[bad], worst)
        touched = _exchange(corners, partner, after, first[bad][chosen], moved)
        rest = first[bad][~chosen]
        active = np.concatenate([touched, rest[partner[rest] >= 0]])
    return corners.reshape(-1, 3)


def _partners(count: int, corners: Ints, after: Ints) -> Ints:
    """Return for each half-edge the one that runs back, or -1 on the outline."""
    start = corners
    end = corners[after]
    forward, backward = start * count + end, end * count + start
    order = np.argsort(forward, kind="stable")
    ranked = forward[order]
    at = np.minimum(np.searchsorted(ranked, backward), len(ranked) - 1)
    return np.where(ranked[at] == backward, order[at], -1)


def _badness(points: Ints, corners: Ints, after: Ints, edge: Ints, back: Ints) -> Floats:
    """Return the sum of the cotangents of the angles across each diagonal; positive where all is well.

    Diagonals whose exchange would leave a triangle without area count as well.
    """
    a, b = points[corners[edge]], points[corners[back]]
    c = points[corners[after[after[edge]]]]
    d = points[corners[after[after[back]]]]
    dot1, cross1 = _dot_cross(a - c, b - c)
    dot2, cross2 = _dot_cross(b - d, a - d)
    fits = (_dot_cross(d - a, c - a)[1] > 0) & (_dot_cross(c - b, d - b)[1] > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        total = dot1 / cross1 + dot2 / cross2
    return np.where(fits & ~np.isnan(total), total, np.inf)


def _dot_cross(one: Ints, other: Ints) -> tuple[Ints, Ints]:
    dot = one[:, 0] * other[:, 0] + one[:, 1] * other[:, 1]
    return dot, one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]


def _apart(edge: Ints, back: Ints, badness: Floats, worst: Ints) -> Flags:
    """Choose diagonals of which no two share a triangle: each the worst of both its triangles.

    `worst` holds a number above every rank for each triangle, before and after.
    """
    order = np.lexsort((edge, badness))
    rank = np.empty(len(edge), dtype=np.int64)
    rank[order] = np.arange(len(edge))
    np.minimum.at(worst, edge // 3, rank)
    np.minimum.at(worst, back // 3, rank)
    chosen: Flags = (worst[edge // 3] == rank) & (worst[back // 3] == rank)
    worst[edge // 3] = worst[back // 3] = 3 * len(worst)
    return chosen


def _exchange(corners: Ints, partner: Ints, after: Ints, edge: Ints, moved: Ints) -> Ints:
    """Exchange diagonals in place; return the half-edges of all triangles that changed.

    Triangles (a, b, c) and (b, a, d) become (a, d, c) and (b, c, d). `moved` maps each half-edge to itself,
    before and after.
    """
    back = partner[edge]
    one, other = edge - edge % 3, back - back % 3
    sides = (after[back], after[after[edge]], after[edge], after[after[back]])
    places = (one, one + 2, other, other + 2)
    outside = [partner[side] for side in sides]
    a, b = corners[edge], corners[back]
    c, d = corners[sides[1]], corners[sides[3]]
    for side, place in zip(sides, places, strict=True):
        moved[side] = place
    for slot, corner in zip(
        (one, one + 1, one + 2, other, other + 1, other + 2), (a, d, c, b, c, d), strict=True
    ):
        corners[slot] = corner
    for place, beyond in zip(places, outside, strict=True):
        inner = beyond >= 0
        partner[place[~inner]] = -1
        partner[place[inner]] = moved[beyond[inner]]
        partner[moved[beyond[inner]]] = place[inner]
    for side in sides:
        moved[side] = side
    partner[one + 1], partner[other + 1] = other + 1, one + 1
    changed = np.concatenate([one, one + 1, one + 2, other, other + 2])
    kept: Ints = changed[partner[changed] >= 0]
    return kept
