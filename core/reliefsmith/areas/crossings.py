"""Find where arcs cross or touch although they should not."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import shapely

from ..model.arrays import Flags, Floats, Ints, Points
from .shape import ArcLines

__all__ = ["find_crossings", "find_faults"]

_PLACE = re.compile(r"\[(\S+) (\S+)\]$")


def find_crossings(lines: ArcLines, tail: Ints, head: Ints, arcs: Ints | None = None) -> Points:
    """Find places where segments of the arcs meet other than at a vertex or node that they share.

    Parameters
    ----------
    lines : ArcLines
    tail, head : int64 arrays of shape (m,)
        Nodes of each arc, -1 for rings.
    arcs : int64 array, optional
        Only meetings in which one of these arcs takes part, with any other or with itself.

    Returns
    -------
    places : float64 array of shape (k, 2)
    """
    begin, ids = _segments(lines, tail, head)
    own = np.ones(begin.size, dtype=bool)
    if arcs is not None:
        own = np.isin(np.searchsorted(lines.starts, begin, side="right") - 1, arcs)
        reached = _in_box_of(own, lines.points[begin], lines.points[begin + 1])
        begin, ids, own = begin[reached], ids[reached], own[reached]
    if not own.any():
        return np.empty((0, 2))
    a, b = lines.points[begin], lines.points[begin + 1]
    degenerate = (a == b).all(axis=1) & own
    segments = shapely.linestrings(np.stack((a, b), axis=1))
    mine = np.flatnonzero(own)
    one, other = shapely.STRtree(segments[mine]).query(segments, predicate="intersects")
    other = mine[other]
    pair = (one < other) | ~own[one]
    one, other = one[pair], other[pair]
    bad = _offending(a, b, ids, one, other)
    one, other = one[bad], other[bad]
    alone = np.flatnonzero(degenerate)
    return np.vstack((_meeting(a[one], b[one], a[other], b[other]), a[alone]))


def _in_box_of(own: Flags, a: Points, b: Points) -> Flags:
    """Return which segments a-b reach into the box that holds those of the own ones."""
    if not own.any():
        return own
    low, high = np.minimum(a, b), np.maximum(a, b)
    reached: Flags = ((high >= low[own].min(axis=0)) & (low <= high[own].max(axis=0))).all(axis=1)
    return reached


def find_faults(polygons: Sequence[shapely.MultiPolygon]) -> Points:
    """Find places where areas are not valid although no arcs cross: an island beyond its neighbor's shore."""
    every = np.asarray(polygons, dtype=object)
    bad = every[~shapely.is_valid(every)]
    if len(bad):
        found = [_PLACE.search(reason) for reason in shapely.is_valid_reason(bad)]
        places = [[float(match[1]), float(match[2])] for match in found if match]
        return np.array(places) if places else np.asarray(shapely.get_coordinates(bad))
    if shapely.coverage_is_valid(every):
        return np.empty((0, 2))
    edges: Points = shapely.get_coordinates(shapely.coverage_invalid_edges(every))
    return edges


def _segments(lines: ArcLines, tail: Ints, head: Ints) -> tuple[Ints, Ints]:
    """Return the first point of each segment, and the identity of its two ends."""
    sizes = np.diff(lines.starts)
    identity = np.arange(len(lines.points))
    used = np.flatnonzero(sizes > 0)
    first, last = lines.starts[:-1][used], lines.starts[1:][used] - 1
    identity[last] = identity[first]
    is_open = tail[used] >= 0
    identity[first[is_open]] = -1 - tail[used][is_open]
    identity[last[is_open]] = -1 - head[used][is_open]
    inner = np.ones(identity.size, dtype=bool)
    inner[last] = False
    begin = np.flatnonzero(inner)
    return begin, np.stack((identity[begin], identity[begin + 1]), axis=1)


def _offending(a: Points, b: Points, ids: Ints, one: Ints, other: Ints) -> Flags:
    """Tell which intersecting pairs meet elsewhere than in one shared end."""
    same = ids[one][:, :, None] == ids[other][:, None, :]
    shared = same.any(axis=(1, 2))
    bad = ~shared | (same.sum(axis=(1, 2)) > 1)
    check = np.flatnonzero(~bad)
    if check.size:
        flat = same[check].reshape(-1, 4).argmax(axis=1)
        first, second = one[check], other[check]
        pivot = np.where((flat < 2)[:, None], a[first], b[first])
        far_first = np.where((flat < 2)[:, None], b[first], a[first]) - pivot
        far_second = np.where((flat % 2 == 0)[:, None], b[second], a[second]) - pivot
        cross = far_first[:, 0] * far_second[:, 1] - far_first[:, 1] * far_second[:, 0]
        dot = (far_first * far_second).sum(axis=1)
        size = np.hypot(*far_first.T) * np.hypot(*far_second.T)
        bad[check] = (dot > 0) & (np.abs(cross) <= 1e-9 * size)
    return np.asarray(bad, dtype=bool)


def _meeting(a: Points, b: Points, c: Points, d: Points) -> Points:
    """Return where segments a-b and c-d meet; for parallel ones the point of a-b nearest to c-d's middle."""
    first, second, gap = b - a, d - c, c - a
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    size = np.hypot(*first.T) * np.hypot(*second.T)
    slanted = np.abs(cross) > 1e-9 * size
    along = (gap[:, 0] * second[:, 1] - gap[:, 1] * second[:, 0]) / np.where(slanted, cross, 1.0)
    length: Floats = np.maximum((first * first).sum(axis=1), 1e-18)
    beside = ((gap + second / 2.0) * first).sum(axis=1) / length
    meeting: Points = a + np.clip(np.where(slanted, along, beside), 0.0, 1.0)[:, None] * first
    return meeting
