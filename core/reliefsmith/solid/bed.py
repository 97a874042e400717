"""How a piece lies on the bed: as it is, turned over, or as two plates side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ..model import Part, Slab
from ..polygons import face_down, snapped
from .levels import Levels

__all__ = ["APART_MM", "laid_down", "mirrored", "on_bed", "piece_of"]

APART_MM = 5.0
"""Between two plates on the bed (common practice, no source)."""

Offset = tuple[float, float]


def piece_of(levels: Levels, face: str) -> tuple[Slab, ...]:
    """Return the finished piece with its front up; empty where that is how it is printed.

    A plate printed face down is turned over; on a back plate it lies with its front outward.
    """
    if face == "up":
        return ()
    high = levels.joint_mm + levels.front_mm if levels.back else max(slab.highest_mm for slab in levels.slabs)
    return (*(slab.turned_over(high) for slab in levels.slabs), *levels.back)


def on_bed(levels: Levels, face: str) -> tuple[tuple[Slab, ...], Offset | None]:
    """Return the slabs as printed, and how far a back plate was moved beside the front plate.

    What lies face down is mirrored in x. The back plate lies to the right or above, where the bed is better
    used.
    """
    if face == "up":
        return levels.slabs, None
    front = mirrored(levels.slabs)
    if not levels.back:
        return front, None
    x0, y0, x1, y1 = shapely.total_bounds([slab.polygon for slab in levels.back]).tolist()
    right = x1 - x0 <= y1 - y0
    offset = (round(APART_MM - 2 * x0, 3), 0.0) if right else (0.0, round(y1 - y0 + APART_MM, 3))
    return (*front, *(_moved(slab, offset) for slab in levels.back)), offset


def mirrored(slabs: Sequence[Slab]) -> tuple[Slab, ...]:
    """Return slabs as they lie face down, left and right exchanged."""
    return tuple(replace(slab, polygon=face_down(slab.polygon)) for slab in slabs)


def laid_down(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return solids of any origin turned half round the y axis, the highest point on the bed.

    A turn, not a reflection: triangles keep their outside.

    Examples
    --------
    >>> import numpy as np
    >>> corners, none = np.array([(1.0, 2, 0), (3, 4, 5)]), np.zeros((0, 3), np.int32)
    >>> laid_down([Part("base", "base", (0, 0, 0), corners, none)])[0].vertices.tolist()
    [[-1.0, 2.0, 5.0], [-3.0, 4.0, 0.0]]
    """
    high = max(float(part.vertices[:, 2].max()) for part in parts)
    return tuple(
        replace(part, vertices=part.vertices * (-1.0, 1.0, -1.0) + (0.0, 0.0, high)) for part in parts
    )


def _moved(slab: Slab, offset: Offset) -> Slab:
    """Return a slab moved in the plane; put on the grid again, because a sum of two floats may miss it."""
    return replace(slab, polygon=shapely.transform(slab.polygon, lambda points: snapped(points + offset)))
