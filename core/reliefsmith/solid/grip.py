"""A grip on a plate, which is glued to the back of the piece."""

from __future__ import annotations

import math

import numpy as np
import shapely

from ..errors import GeometryError
from ..model import Accessory, Plan
from ..polygons import arc_segments, face_down, snapped
from ..recipe.sections import HandleSettings, HeightSettings, PrinterSettings
from .feet import Section, built_up
from .layergrid import grid_of

__all__ = ["grip_of"]

MOST_LONG = 4.0
"""A grip is so many times as long as it is thick at most: longer ones are no better to hold (common practice,
no source)."""

LEDGE_MM = 0.1
"""Of the plate left round the grip: where their edges met in a point, there would be no solid."""


def grip_of(
    plan: Plan, handle: HandleSettings, heights: HeightSettings, printer: PrinterSettings
) -> Accessory:
    """Return a handle: a plate as large as the hull of the piece, seen from behind, and the grip on it.

    Raises
    ------
    GeometryError
        If the piece is too small for the grip.
    """
    plate = shapely.transform(face_down(shapely.convex_hull(plan.whole)), snapped)
    grid = grid_of(heights, printer.nozzle_mm)
    low = grid.nearest(handle.plate_mm)
    high = max(grid.nearest(handle.plate_mm + handle.height_mm), low + 1)
    sections = [Section(plate, low), Section(_grip(plate, handle.thick_mm), high)]
    words = (
        "Glue the plate of the handle to the back of the piece, edge to edge, and leave it under a weight for"
        " the night. Print the handle in a stiff filament.",
    )
    return built_up("handle", plan.base_color, sections, grid, words)


def _grip(plate: shapely.Polygon, thick_mm: float) -> shapely.Polygon:
    """Return a bar with round ends along the longer side of a convex plate, across the middle of its room."""
    radius = thick_mm / 2
    room = plate.buffer(-radius - LEDGE_MM)
    if room.is_empty:
        raise GeometryError(
            f"the piece is too small for a grip {thick_mm:g} mm thick; lower handle.thick_mm or print it"
            " larger"
        )
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(plate))
    side = max(np.diff(corners[:3], axis=0), key=lambda one: math.hypot(*one))
    middle = shapely.get_coordinates(room.centroid)[0]
    ends = shapely.get_coordinates(shapely.LineString([middle - side, middle + side]) & room)
    length = math.dist(*ends)
    half = min((MOST_LONG - 1) * thick_mm, length) / 2 * (ends[1] - ends[0]) / length
    core = shapely.LineString([ends.mean(axis=0) - half, ends.mean(axis=0) + half])
    return shapely.transform(core.buffer(radius, quad_segs=arc_segments(radius)), snapped)
