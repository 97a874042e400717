"""A grip on a plate, which is glued to the back of the piece."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import affinity

from ..errors import GeometryError
from ..model import Accessory, Plan
from ..polygons import arc_segments, inscribed, snapped
from ..recipe.sections import HandleSettings, HeightSettings, PrinterSettings
from .feet import built_up
from .layergrid import grid_of

MOST_LONG = 4.0
"""A grip is so many times as long as it is thick at most: longer ones are no better to hold (common practice,
no source)."""


def grip_of(
    plan: Plan, handle: HandleSettings, heights: HeightSettings, printer: PrinterSettings
) -> Accessory:
    """Return a handle: a plate as large as the hull of the piece, seen from behind, and the grip on it.

    Raises
    ------
    GeometryError
        If the piece is too small for the grip.
    """
    hull = shapely.convex_hull(plan.whole)
    plate = shapely.transform(hull, lambda points: snapped(points * (-1.0, 1.0)))
    grid = grid_of(heights, printer.nozzle_mm)
    low = grid.nearest(handle.plate_mm)[0]
    high = max(grid.nearest(handle.plate_mm + handle.height_mm)[0], low + 1)
    sections = [(plate, low), (_grip(plate, handle.thick_mm), high)]
    words = (
        "Glue the plate of the handle to the back of the piece, edge to edge, and leave it under a weight for"
        " the night. Print the handle in a stiff filament.",
    )
    return built_up("handle", plan.base_color, sections, grid, words)


def _grip(plate: shapely.Polygon, thick_mm: float) -> shapely.Polygon:
    """Return a bar with round ends along the longer side of a plate, over its widest place."""
    place, radius = inscribed(plate), thick_mm / 2
    if place.radius < radius:
        raise GeometryError(
            f"the piece is too small for a grip {thick_mm:g} mm thick; lower handle.thick_mm or print it"
            " larger"
        )
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(plate))
    sides = np.diff(corners[:3], axis=0)
    along = max(sides.tolist(), key=lambda side: math.hypot(*side))
    angle = math.degrees(math.atan2(along[1], along[0]))
    shapely.prepare(plate)
    for length in np.arange((MOST_LONG - 1) * thick_mm, 0, -1.0).tolist():
        half = length / 2
        core = shapely.LineString([(place.x - half, place.y), (place.x + half, place.y)])
        bar = affinity.rotate(core, angle, origin=place.center).buffer(radius, quad_segs=arc_segments(radius))
        if shapely.covers(plate, bar):
            return shapely.transform(bar, snapped)
    disc = shapely.Point(place.center).buffer(radius, quad_segs=arc_segments(radius))
    return shapely.transform(disc, snapped)
