"""Dots: small compact pieces that are enlarged to a printable size instead of being thickened as strokes."""

from __future__ import annotations

import numpy as np
import shapely

from ...polygons import grow, inscribed, polygons_of

__all__ = ["enlarged"]

_COMPACT = 2.2
"""A piece is a dot if the circle round it is at most this many times as wide as the circle in it: a square
(1.41), a triangle (2.0) and an oval eye are dots, a dash is a stroke."""

_DISC = 0.75
"""Least area of what holds a disc, in squares of its diameter: a bit under a quarter of pi."""

_SLACK_MM = 0.01


def enlarged(entry: shapely.MultiPolygon, least: float, nozzle: float) -> list[shapely.Polygon]:
    """Return dots grown to the least diameter, for pieces between the nozzle and that diameter.

    Parameters
    ----------
    entry : MultiPolygon
        The areas of one color.
    least : float
        Least diameter of a dot in mm.
    nozzle : float
        Pieces narrower than this cannot be told from dust and are left to be given away.

    Examples
    --------
    >>> (dot,) = enlarged(shapely.MultiPolygon([shapely.Point(0, 0).buffer(0.3)]), 1.0, 0.4)
    >>> round(dot.bounds[2], 2)
    0.5
    """
    grown: list[shapely.Polygon] = []
    pieces = np.asarray(polygons_of(entry), dtype=object)
    if len(pieces):
        left, low, right, high = shapely.bounds(pieces).T
        pieces = pieces[np.maximum(right - left, high - low) <= _COMPACT * least]
    for piece in pieces:
        around = 2 * float(shapely.minimum_bounding_radius(piece))
        if around > _COMPACT * least or piece.area < nozzle**2 * _DISC:
            continue
        width = 2 * inscribed(piece).radius
        if nozzle <= width < least - _SLACK_MM and around <= _COMPACT * width:
            grown += polygons_of(grow(piece, (least - width) / 2))
    return grown
