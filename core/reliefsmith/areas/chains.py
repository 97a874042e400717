"""Order linked elements along their chains without walking them: list ranking by pointer doubling."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Flags, Ints

__all__ = ["rank_chains"]


def rank_chains(previous: Ints) -> tuple[Ints, Ints, Flags]:
    """Find the first element of each element's chain and its place along it.

    Every element points at the one before it, or is the first (-1). Rings have no first element; they are
    cut at their smallest index, so the answer does not depend on the order of the work.

    Parameters
    ----------
    previous : int64 array of shape (n,)
        No two elements share a previous one.

    Returns
    -------
    first, rank : int64 arrays of shape (n,)
    ring : bool array of shape (n,)
        Whether the element lies on a ring.

    Notes
    -----
    Pointer doubling after J. C. Wyllie, "The Complexity of Parallel Computations", 1979.

    Examples
    --------
    >>> first, rank, ring = rank_chains(np.array([-1, 0, 4, 2, 3]))
    >>> first.tolist(), rank.tolist(), ring.tolist()
    ([0, 0, 2, 2, 2], [0, 1, 0, 1, 2], [False, False, True, True, True])
    """
    first, rank, lowest = _doubled(previous)
    ring = previous[first] >= 0
    if ring.any():
        inside = np.flatnonzero(ring)
        place = np.zeros(previous.size, dtype=np.int64)
        place[inside] = np.arange(inside.size)
        cut = place[previous[inside]]
        cut[lowest[inside] == inside] = -1
        local_first, local_rank, _ = _doubled(cut)
        first[inside] = inside[local_first]
        rank[inside] = local_rank
    return first, rank, ring


def _doubled(previous: Ints) -> tuple[Ints, Ints, Ints]:
    count = previous.size
    jump = np.where(previous < 0, np.arange(count), previous)
    rank = (previous >= 0).astype(np.int64)
    lowest = np.arange(count)
    for _ in range(max(count, 1).bit_length()):
        lowest = np.minimum(lowest, lowest[jump])
        rank = rank + rank[jump]
        further = jump[jump]
        if np.array_equal(further, jump):
            break
        jump = further
    return jump, rank, lowest
