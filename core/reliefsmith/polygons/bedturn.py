"""How an outline must be turned to lie on a bed."""

from __future__ import annotations

import numpy as np
import shapely

__all__ = ["turn_on_bed"]

_SLACK_MM = 1e-6  # rounding of a turned piece


def turn_on_bed(outline: shapely.Geometry, bed_mm: tuple[float, float]) -> float | None:
    """Return the first turn of 0, 90, 1, 2, ... 179 degrees at which a piece lies on the bed, or None.

    Examples
    --------
    >>> turn_on_bed(shapely.box(0, 0, 3, 9), (10, 4)), turn_on_bed(shapely.box(0, 0, 12, 9), (10, 10))
    (90.0, None)
    """
    x, y = shapely.get_coordinates(outline.convex_hull).T
    turns = np.array([0.0, 90.0, *(turn for turn in range(1, 180) if turn != 90)])
    cosine, sine = np.cos(np.radians(turns))[:, None], np.sin(np.radians(turns))[:, None]
    width, depth = np.ptp(x * cosine - y * sine, axis=1), np.ptp(x * sine + y * cosine, axis=1)
    fits = np.flatnonzero((width <= bed_mm[0] + _SLACK_MM) & (depth <= bed_mm[1] + _SLACK_MM))
    return float(turns[fits[0]]) if len(fits) else None
