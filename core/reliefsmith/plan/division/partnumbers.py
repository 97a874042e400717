"""Numbers sunk into the backs of parts, by which they are put together."""

from __future__ import annotations

import shapely

from ...errors import GeometryError
from ...polygons import polygons_of
from ...recipe.sections import SHIPPED_FONTS, Inscription
from ...typeset.fonts import shipped_font
from ..inscriptions.compose import Composer
from ..inscriptions.webs import webbed
from ..strokes.leastwidths import Limits

__all__ = ["NUMBER_DEPTH_MM", "digits_in"]

NUMBER_DEPTH_MM = 0.4
"""How deep numbers are sunk: two usual layers, which the bed's side shows clearly."""

NUMBER_MM, LEAST_NUMBER_MM = 10.0, 3.0
"""Heights of numbers: as wanted, and the least that is read."""

_SMALLER = 0.78  # from one height that is tried to the next
_FONT = "sans"


def digits_in(room: shapely.Geometry, number: int, limits: Limits) -> shapely.MultiPolygon:
    """Return a number for a room on the back, mirrored; empty where not even the least fits."""
    height, rooms = NUMBER_MM, polygons_of(room)
    font = shipped_font(_FONT, SHIPPED_FONTS[_FONT])
    while rooms and height >= LEAST_NUMBER_MM:
        item = Inscription(str(number), place="back", size_mm=round(height, 2), font=_FONT)
        try:
            return webbed(Composer(number, item, font, limits).largest(rooms).letters, limits)[0]
        except GeometryError:
            height *= _SMALLER
    return shapely.MultiPolygon()
