"""Find where arcs cross or touch although they should not."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Points
from .chains import Indices
from .shape import ArcLines
from .smooth import Floats

__all__ = ["find_crossings"]


def find_crossings(lines: ArcLines, tail: Indices, head: Indices) -> tuple[Points, Indices]:
    """Find places where segments of the arcs meet other than at a vertex or node that they share.

    Parameters
    ----------
    lines : ArcLines
    tail, head : int64 arrays of shape (m,)
        Nodes of each arc, -1 for rings.

    Returns
    -------
    places : float64 array of shape (k, 2)
        A point on each offending segment near the meeting.
    arcs : int64 array of shape (k,)
        The arc of that segment.
    """
    begin, arc, ids = _segments(lines, tail, head)
    if not begin.size:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    a, b = lines.points[begin], lines.points[begin + 1]
    degenerate = (a == b).all(axis=1)
    tree = shapely.STRtree(shapely.linestrings(np.stack((a, b), axis=1)))
    one, other = tree.query(tree.geometries, predicate="intersects")
    pair = one < other
    one, other = one[pair], other[pair]
    bad = _offending(a, b, ids, one, other)
    one, other = one[bad], other[bad]
    alone = np.flatnonzero(degenerate)
    near_one = _nearest(a[one], b[one], (a[other] + b[other]) / 2.0)
    near_other = _nearest(a[other], b[other], (a[one] + b[one]) / 2.0)
    places = np.vstack((near_one, near_other, a[alone]))
    return places, np.concatenate((arc[one], arc[other], arc[alone]))


def _segments(
    lines: ArcLines, tail: Indices, head: Indices
) -> tuple[Indices, Indices, npt.NDArray[np.int64]]:
    """Return the first point of each segment, its arc, and the identity of its two ends."""
    sizes = np.diff(lines.starts)
    arc = np.repeat(np.arange(sizes.size), sizes)
    identity = np.arange(arc.size)
    used = np.flatnonzero(sizes > 0)
    first, last = lines.starts[:-1][used], lines.starts[1:][used] - 1
    identity[last] = identity[first]
    is_open = tail[used] >= 0
    identity[first[is_open]] = -1 - tail[used][is_open]
    identity[last[is_open]] = -1 - head[used][is_open]
    inner = np.ones(arc.size, dtype=bool)
    inner[last] = False
    begin = np.flatnonzero(inner)
    return begin, arc[begin], np.stack((identity[begin], identity[begin + 1]), axis=1)


def _offending(
    a: Points, b: Points, ids: npt.NDArray[np.int64], one: Indices, other: Indices
) -> npt.NDArray[np.bool_]:
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


def _nearest(a: Points, b: Points, to: Points) -> Points:
    axis = b - a
    length: Floats = np.maximum((axis * axis).sum(axis=1), 1e-18)
    along = np.clip(((to - a) * axis).sum(axis=1) / length, 0.0, 1.0)
    nearest: Points = a + along[:, None] * axis
    return nearest
