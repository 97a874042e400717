"""Whether a piece surely cannot fit in the small-parts cylinder of toy safety rules.

The cylinder is 1.25 in wide with a slanted floor from 1.00 to 2.25 in deep (16 CFR 1501.4; the same in
EN 71-1 and in Canada's SOR/2011-17). The rules here are sufficient ones: they prove "cannot fit", never
"complies".
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

__all__ = ["CYLINDER_DEPTH_MM", "CYLINDER_DIAGONAL_MM", "CYLINDER_WIDTH_MM", "cannot_fit", "extents"]

CYLINDER_WIDTH_MM = 31.75
CYLINDER_DEPTH_MM = 57.15
CYLINDER_DIAGONAL_MM = math.hypot(CYLINDER_WIDTH_MM, CYLINDER_DEPTH_MM)
"""Longest straight line in the cylinder, from the deep end of its floor to the rim across: 65.38 mm."""

_KEPT = 4
"""Outlines whose extents are remembered: they are asked for twice, and a changed height changes none."""

_AT_ONCE = 256
"""Corners compared with all others at once, to bound memory; a usual hull has a few hundred."""


@lru_cache(maxsize=_KEPT)
def extents(shape: BaseGeometry) -> tuple[float, float]:
    """Return the longest extent and the least width in mm of a shape, both of its convex hull.

    Examples
    --------
    >>> [round(value, 3) for value in extents(shapely.box(0, 0, 30, 40))]
    [50.0, 30.0]
    """
    x, y = shapely.get_coordinates(shape.convex_hull)[:-1].T
    side_x, side_y = np.roll(x, -1) - x, np.roll(y, -1) - y
    length = np.hypot(side_x, side_y)
    longest, width = 0.0, math.inf
    for start in range(0, len(x), _AT_ONCE):
        rows = slice(start, start + _AT_ONCE)
        gap_x, gap_y = x[None, :] - x[rows, None], y[None, :] - y[rows, None]
        longest = max(longest, float(np.hypot(gap_x, gap_y).max()))
        heights = np.abs(side_x[rows, None] * gap_y - side_y[rows, None] * gap_x) / length[rows, None]
        width = min(width, float(heights.max(axis=1).min()))
    return longest, width


def cannot_fit(shape: BaseGeometry) -> bool:
    """Tell whether a flat piece of this outline surely cannot lie entirely inside the cylinder.

    Examples
    --------
    >>> cannot_fit(shapely.box(0, 0, 70, 20)), cannot_fit(shapely.box(0, 0, 40, 40))
    (True, True)
    >>> cannot_fit(shapely.box(0, 0, 45, 25))
    False
    """
    longest, width = extents(shape)
    return longest > CYLINDER_DIAGONAL_MM or width > CYLINDER_WIDTH_MM
