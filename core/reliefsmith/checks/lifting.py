"""Corners that lift from the bed: plastic shrinks as it cools and pulls hardest at far, sharp corners."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..polygons import polygons_of
from .smallparts import extents
from .tips import sharp_tips

__all__ = ["LIFT_DEG", "LIFT_ROUND_MM", "LONG_MM", "lifting_findings"]

LONG_MM = 120.0
"""Shorter pieces hold at their corners (common practice, no source)."""

LIFT_DEG, LIFT_ROUND_MM = 100.0, 3.0
"""Corners sharper than this and rounded less concentrate the pull (common practice, no source)."""


def lifting_findings(outline: BaseGeometry) -> tuple[Finding, ...]:
    """Tell of the corner of a long piece that is likeliest to lift: the sharp one farthest from its middle.

    Parameters
    ----------
    outline : Polygon or MultiPolygon
        What lies on the bed.
    """
    if outline.is_empty or extents(outline)[0] <= LONG_MM:
        return ()
    body = shapely.union_all([shapely.Polygon(piece.exterior) for piece in polygons_of(outline)])
    middle = body.centroid
    corners = [
        (round(shapely.Point(x, y).distance(middle), 3), round(x, 2), round(y, 2))
        for x, y, _ in sharp_tips(body, LIFT_DEG, LIFT_ROUND_MM)
    ]
    if not corners:
        return ()
    _, x, y = max(corners)
    many = f" and {len(corners) - 1} more" if len(corners) > 1 else ""
    words = (
        f"A corner of a piece over {LONG_MM:g} mm long may lift from the bed as it cools (this one{many});"
        f" round corners to {LIFT_ROUND_MM:g} mm, or print a brim round it."
    )
    return (finding("corner-may-lift", words, (x, y, 0.0)),)
