"""How pieces lie on a bed: apart by the spacing, and all of them on it."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..polygons import GRID_MM
from ..polygons.packing import least_gap_mm

__all__ = ["lying_findings"]

_SLACK_MM = GRID_MM
"""What rounding may take of a distance: parts lie on the grid."""


def lying_findings(
    outlines: Sequence[BaseGeometry], *, bed_mm: tuple[float, float], spacing_mm: float
) -> tuple[Finding, ...]:
    """Judge the outlines of pieces where they lie, in mm.

    Parameters
    ----------
    outlines : sequence of geometry
    bed_mm : (float, float)
    spacing_mm : float
        Least distance that is asked for.
    """
    found: list[Finding] = []
    gap = least_gap_mm(outlines)
    if gap < spacing_mm - _SLACK_MM:
        words = f"Two pieces lie {gap:.2f} mm from each other; {spacing_mm:g} mm are asked for."
        found.append(finding("pieces-near", words))
    x0, y0, x1, y1 = shapely.total_bounds(list(outlines)).tolist()
    width, depth = x1 - x0, y1 - y0
    if width > bed_mm[0] + _SLACK_MM or depth > bed_mm[1] + _SLACK_MM:
        words = f"The pieces take {width:.1f} x {depth:.1f} mm, the bed has {bed_mm[0]:g} x {bed_mm[1]:g} mm."
        found.append(finding("bed-too-small", words))
    return tuple(found)
