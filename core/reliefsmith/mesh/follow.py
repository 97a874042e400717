"""A hand-changed solid follows the flat heights of the part that it was made from."""

from __future__ import annotations

import hashlib

import numpy as np

from ..model.arrays import Vertices
from ..polygons import GRID_MM

__all__ = ["follow", "ground_of", "levels_of"]

_RIGID = 0.45
"""Share of the lower of two gaps that moves with the level it is next to, above and below."""


def levels_of(vertices: Vertices) -> list[float]:
    """Return the heights at which a solid has vertices (n, 3), in mm, rising, to a micrometer.

    Examples
    --------
    >>> levels_of(np.array([[0, 0, 0], [4, 0, 0], [0, 0, 2.0]]))
    [0.0, 2.0]
    """
    found: list[float] = np.unique(np.round(np.asarray(vertices)[:, 2], 3)).tolist()
    return found


def ground_of(vertices: Vertices) -> str:
    """Return by what the places of a solid's vertices (n, 3), seen from above, are known again.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> one, other = (prism(shapely.box(0, 0, 3, 2), 0.0, height) for height in (1.0, 2.0))
    >>> ground_of(one.vertices) == ground_of(other.vertices)
    True
    """
    x, y = np.round(np.asarray(vertices)[:, :2] / GRID_MM).astype(np.int64).T
    keys = np.unique(x * 2**32 + y)  # one number for each place up to 2 km
    x = (keys + 2**31) >> 32
    cells = np.column_stack([x, keys - x * 2**32])
    return hashlib.blake2b(cells.tobytes(), digest_size=16).hexdigest()


def follow(vertices: Vertices, before: list[float], after: list[float]) -> Vertices:
    """Return vertices (n, 3) moved up or down with the levels of the part, as many after as before.

    What is near a level keeps its distance from it, so relief on a top stays as high and as deep as it is;
    what lies between is stretched or pressed. Above and below all levels nothing is stretched.

    Examples
    --------
    >>> raised = follow(np.array([[0, 0, 2.3], [0, 0, 1.9], [0, 0, 0.1]]), [0.0, 2.0], [0.0, 3.6])
    >>> raised[:, 2].round(3).tolist()
    [3.9, 3.5, 0.1]
    """
    here, there = [before[0]], [after[0]]
    for low, high, new_low, new_high in zip(before, before[1:], after, after[1:], strict=False):
        rigid = _RIGID * min(high - low, new_high - new_low)
        here += [low + rigid, high - rigid, high]
        there += [new_low + rigid, new_high - rigid, new_high]
    z = np.asarray(vertices, np.float64)[:, 2]
    moved = np.asarray(np.interp(z, here, there))
    moved[z > here[-1]] = z[z > here[-1]] + (there[-1] - here[-1])
    moved[z < here[0]] = z[z < here[0]] + (there[0] - here[0])
    return np.column_stack([np.asarray(vertices, np.float64)[:, :2], moved])
