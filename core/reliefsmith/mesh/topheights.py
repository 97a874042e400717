"""How high a generated top is at any place."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely

from ..model.arrays import Floats
from ..model.stack import Contours, Field
from ..polygons import from_grid
from .sloped import contour_top

__all__ = ["plain_heights"]


def plain_heights(top: float | Field | Contours) -> Callable[[Floats], Floats]:
    """Return the function that gives heights (n,) in mm at places (n, 2) in mm.

    Beside a sloped top it is as high as its edge.

    Examples
    --------
    >>> roof = Contours(
    ...     tuple(shapely.MultiPolygon([shapely.box(k, k, 4 - k, 4 - k)]) for k in (0, 1)), (1.0, 2.0)
    ... )
    >>> plain_heights(roof)(np.array([[0.5, 2.0], [2.0, 2.0], [9.0, 9.0]])).tolist()
    [1.5, 2.0, 1.0]
    """
    if isinstance(top, Contours):
        return _over(top)
    if isinstance(top, Field):
        return lambda places: top.at(places).clip(min=top.upright_mm)
    return lambda places: np.full(len(places), top)


def _over(top: Contours) -> Callable[[Floats], Floats]:
    """Return heights on the triangles of a sloped top."""
    found = contour_top(top.shapes, top.levels_mm)
    corners = from_grid(found.points)[found.triangles]
    levels = found.heights[found.triangles]
    tree = shapely.STRtree(shapely.polygons(corners))
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    area = ux * vy - uy * vx

    def heights_at(places: Floats) -> Floats:
        heights = np.full(len(places), top.levels_mm[0])
        place, own = tree.query(shapely.points(places), predicate="intersects")
        (x, y) = (places[place] - a[own]).T
        second = (x * vy[own] - y * vx[own]) / area[own]
        third = (ux[own] * y - uy[own] * x) / area[own]
        low = levels[own, 0]
        heights[place] = low + (levels[own, 1] - low) * second + (levels[own, 2] - low) * third
        return heights

    return heights_at
