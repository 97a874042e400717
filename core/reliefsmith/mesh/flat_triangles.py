"""Remove triangles without area by exchanging an edge with the neighbor across the longest side."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .rings import Indices

__all__ = ["without_flat"]

_MOST_FLAT = 4096
"""With more of them than this the second engine is quicker than exchanging edges one by one."""

_ROUNDS = 8
"""Rows of collinear vertices unfold one triangle per exchange; each round takes every row one step."""


def without_flat(points: Indices, triangles: Indices) -> Indices:
    """Return the triangulation with zero-area triangles exchanged away where that is possible.

    A zero-area triangle has its middle vertex on its longest side. The triangle across that side is joined
    to it and the pair is cut again through the middle vertex, which leaves two triangles with area.

    Notes
    -----
    Exchanges change neither the number of triangles nor the outline. What stays flat is left to the caller.

    Examples
    --------
    >>> points = np.array([[0, 0], [1, 0], [2, 0], [1, 2]])
    >>> without_flat(points, np.array([[0, 1, 2], [0, 2, 3]])).tolist()
    [[1, 2, 3], [0, 1, 3]]
    """
    result = triangles.copy()
    for _ in range(_ROUNDS):
        flat = np.flatnonzero(_cross(points, result) == 0)
        if len(flat) == 0 or len(flat) > _MOST_FLAT:
            break
        if not _exchange(points, result, flat):
            break
    return result


def _cross(points: Indices, triangles: Indices) -> Indices:
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    cross: Indices = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return cross


def _exchange(points: Indices, triangles: Indices, flat: npt.NDArray[np.intp]) -> bool:
    """Exchange the longest side of each flat triangle, in place; tell whether anything changed.

    A loop, because one exchange changes the next one's neighbor; flat triangles are few.
    """
    owner = _owners(triangles)
    done: set[int] = set()
    for index in flat.tolist():
        corners = triangles[index]
        sides = points[np.roll(corners, -1)] - points[corners]
        longest = int(np.argmax((sides * sides).sum(axis=1)))
        a, c, b = (int(corners[(longest + step) % 3]) for step in range(3))
        other = owner.get((c, a))
        if other is None or index in done or other in done:
            continue
        d = int(triangles[other].sum()) - a - c
        triangles[index], triangles[other] = (b, a, d), (c, b, d)
        done |= {index, other}
    return bool(done)


def _owners(triangles: Indices) -> dict[tuple[int, int], int]:
    owner: dict[tuple[int, int], int] = {}
    for index, (a, b, c) in enumerate(triangles.tolist()):
        owner[a, b] = owner[b, c] = owner[c, a] = index
    return owner
