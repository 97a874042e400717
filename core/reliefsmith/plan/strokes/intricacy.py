"""Artworks of so many fine strokes and gaps that repair would take minutes are refused before it."""

from __future__ import annotations

import numpy as np
import shapely

from ...errors import GeometryError
from ...polygons import tiles
from ...progress import Progress, Steps
from .centerlines import MARGIN, REACH, thin_in
from .leastwidths import Limits
from .partition import GROUND, Sheet

__all__ = ["plannable_steps"]

_MOST = 150_000
"""Vertices and widths of boundary of fine places, times the turns that repair takes (one for each color, for
the ground, and for all together), above which an artwork is refused: each turn looks again at what the others
changed. Found on one half, by lot, of 210 pictures that are hard to plan, and tried on the other."""

_MEASURING = Progress("measuring fine strokes", 0.02)


def plannable_steps(sheet: Sheet, limits: Limits) -> Steps[None]:
    """Refuse a sheet whose fine strokes and gaps are too many to repair.

    Parameters
    ----------
    sheet : Sheet
        Before repair.
    limits : Limits

    Raises
    ------
    GeometryError
        If fine places have more vertices and boundary than `_MOST` allows for this number of colors.
    """
    widths = {number: limits.gap if number == GROUND else limits.stroke for number in sheet.numbers()}
    widths = {number: width for number, width in widths.items() if width > 0}
    most = _MOST / (len(widths) + 1)
    if sum(_weight(sheet.entry(number), width) for number, width in widths.items()) <= most:
        return
    found, largest = 0.0, shapely.Polygon()
    for number, width in widths.items():
        for tile in tiles(sheet.entry(number), MARGIN * width):
            yield _MEASURING
            places = np.asarray(thin_in(tile, width), dtype=object)
            if len(places):
                zone = shapely.buffer(shapely.multipolygons(places), REACH * width, quad_segs=2)
                found += _weight(shapely.boundary(tile.part).intersection(zone), width)
                largest = max(largest, *places, key=shapely.area)
    if found > most:
        x, y = shapely.get_coordinates(shapely.point_on_surface(largest))[0]
        raise GeometryError(
            f"strokes and gaps under {limits.stroke:.2f} and {limits.gap:.2f} mm fill the artwork, most"
            f" near ({x:.0f}, {y:.0f}) mm: too intricate to print; use a larger width, more smoothing, fewer"
            " colors, or a calmer picture"
        )


def _weight(shape: shapely.Geometry, width: float) -> float:
    """Return the vertices of a shape and the length of its boundary in widths, together."""
    return float(shapely.length(shape) / width + shapely.get_num_coordinates(shape))
