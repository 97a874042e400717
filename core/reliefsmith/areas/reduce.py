"""Reduce chains to few vertices within a tolerance, without cutting area off their curves."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Flags, Floats, Ints, Points
from ..polygons.groups import counted_on

__all__ = ["balance_chords", "keep_vertices"]

MOST_TURN_DEG = 70.0
"""Balance only between chords that turn less: at a corner the vertex is where it belongs."""

MOST_BALANCE = 0.08
"""Balance only by less than this many pixels; more is no rounding of a smooth curve."""


def keep_vertices(points: Points, starts: Ints, tolerance: Floats, forced: Flags) -> Flags:
    """Tell which points to keep so that no point lies farther than the tolerance from its chord.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
    starts : int64 array of shape (m + 1,)
        First point of each polyline, and n; polylines of one point stay as they are.
    tolerance : float64 array of shape (m,)
        In the unit of the points.
    forced : bool array of shape (n,)
        Points to keep in any case.

    Notes
    -----
    Ramer 1972, Douglas and Peucker 1973, with all chords split at once: one round for each level of the
    recursion instead of one call for each chord. A larger tolerance keeps a subset.

    Examples
    --------
    >>> line = np.array([[0, 0], [1, 0.01], [2, 0], [3, 2.0]])
    >>> keep_vertices(line, np.array([0, 4]), np.array([0.1]), np.zeros(4, bool)).tolist()
    [True, False, True, True]
    """
    kept = forced.copy()
    sizes = np.diff(starts)
    kept[starts[:-1][sizes > 0]] = True
    kept[starts[1:][sizes > 0] - 1] = True
    chain = np.repeat(np.arange(sizes.size), sizes)
    ends = np.flatnonzero(kept)
    same = chain[ends[1:]] == chain[ends[:-1]]
    first, last = ends[:-1][same], ends[1:][same]
    while True:
        long = last - first > 1
        first, last = first[long], last[long]
        if not first.size:
            return kept
        split, square = _farthest(points, first, last)
        far = square > tolerance[chain[first]] ** 2
        first, last, split = first[far], last[far], split[far]
        kept[split] = True
        first, last = np.concatenate((first, split)), np.concatenate((split, last))


def _farthest(points: Points, first: Ints, last: Ints) -> tuple[Ints, Floats]:
    """Return the inner point farthest from each chord, the first of equals, and its distance squared."""
    size = last - first - 1
    begin = np.cumsum(size) - size
    inner, own = counted_on(first + 1, size)
    axis = points[last] - points[first]
    length = np.hypot(axis[:, 0], axis[:, 1])
    # A closed chain's first chord has no length: whatever its direction, distances are from its point.
    unit = np.where(length[:, None] > 0, axis / np.maximum(length, 1e-12)[:, None], (1.0, 0.0))
    gap = points[inner] - points[first][own]
    (x, y), (u, v) = gap.T, unit[own].T
    along, across = x * u + y * v, x * v - y * u
    over = along - np.minimum(np.maximum(along, 0.0), length[own])
    square = across * across + over * over
    most = np.maximum.reduceat(square, begin)
    hits = np.flatnonzero(square == most[own])
    chord = np.searchsorted(begin, hits, side="right") - 1
    return inner[hits[np.diff(chord, prepend=-1) > 0]], most


def balance_chords(points: Points, starts: Ints, kept: Flags, free: Floats) -> Points:
    """Return the kept points shifted outward so that the chords enclose the area of the whole chain.

    Chords of a curve lie inside it; each inner vertex moves by the mean offset of the chain from the two
    chords that meet there.

    Parameters
    ----------
    points, starts, kept
        As in `keep_vertices`.
    free : float64 array of shape (n,)
        1 where a point may move, 0 where it may not.
    """
    at = np.flatnonzero(kept)
    of_point = np.repeat(np.arange(starts.size - 1), np.diff(starts))
    chain = of_point[at]
    result = points[at].copy()
    if at.size < 3:
        return result
    local = points - points[starts[:-1]][of_point]
    cross = local[:-1, 0] * local[1:, 1] - local[:-1, 1] * local[1:, 0]
    total = np.concatenate(([0.0], np.cumsum(cross)))
    here = local[at]
    closing = here[1:, 0] * here[:-1, 1] - here[1:, 1] * here[:-1, 0]
    area = (total[at[1:]] - total[at[:-1]] + closing) / 2.0
    axis = np.diff(points[at], axis=0)
    length = np.maximum(np.hypot(axis[:, 0], axis[:, 1]), 1e-12)
    offset = area / length
    normal = np.stack((axis[:, 1], -axis[:, 0]), axis=1) / length[:, None]
    inner = np.arange(1, at.size - 1)
    inner = inner[(chain[inner] == chain[inner - 1]) & (chain[inner] == chain[inner + 1])]
    before, after = inner - 1, inner
    cosine = (normal[before] * normal[after]).sum(axis=1)
    mean = (offset[before] + offset[after]) / 2.0
    move = (normal[before] + normal[after]) * (mean / np.maximum(1.0 + cosine, 0.5))[:, None]
    fine = (cosine > np.cos(np.radians(MOST_TURN_DEG))) & (np.abs(mean) < MOST_BALANCE)
    result[inner] += move * (fine * free[at[inner]])[:, None]
    return result
