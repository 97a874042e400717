"""Sharp tips of an outline, found by how far they reach beyond what a round tool could leave."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..polygons import GRID_MM, grow, opened, polygons_of, tiles

__all__ = ["ROUND_MM", "Tip", "sharp_tips", "tip_reach"]

ROUND_MM = 0.5
"""Corners rounded to this radius do not feel sharp (common practice, no source: 0.3 to 0.5 mm)."""

_NO_AREA_MM2 = 1e-4
"""Less is a leftover of rounding."""

_MARGIN_RADII = 8.0
"""How many radii tiles of a large outline reach beyond what they answer for: several tips."""

_RIM_MM = 0.02
"""Where a tip meets the blunt shape is found within this: once for a tip, twice for a bridge."""

_NOISE = 0.03
"""Share of the radius by which chords of arcs and the opening itself may be off."""

_KEPT = 4
"""Outlines whose tips are remembered: a changed height changes none."""

Tip = tuple[float, float, float]
"""Place x, y in mm, and how far the tip reaches beyond its rounding, in mm."""


def tip_reach(angle_deg: float, radius: float = ROUND_MM) -> float:
    """Return how far a sharp corner of this angle reaches beyond a disc that rounds it.

    Examples
    --------
    >>> round(tip_reach(60.0, 1.0), 9)
    1.0
    """
    return radius * (1 / math.sin(math.radians(angle_deg) / 2) - 1)


def sharp_tips(shape: BaseGeometry, angle_deg: float, radius: float = ROUND_MM) -> list[Tip]:
    """Return the tips of a shape sharper than an angle and rounded to less than a radius, the farthest first.

    Notes
    -----
    The opening by a disc takes away what reaches beyond a rounding of that radius: of a corner of angle t
    the reach is r (1 / sin(t / 2) - 1), so angle and rounding are judged together. A part thinner than the
    disc is a tip where it ends in the open, and none where it is a bridge, which meets the rest twice.
    """
    return list(_sharp_tips(shape, angle_deg, radius))


@lru_cache(maxsize=_KEPT)
def _sharp_tips(shape: BaseGeometry, angle_deg: float, radius: float) -> tuple[Tip, ...]:
    least = tip_reach(angle_deg, radius) + _NOISE * radius
    found: list[Tip] = []
    for tile in tiles(shapely.simplify(shape, GRID_MM), _MARGIN_RADII * radius):
        x0, y0, x1, y1 = tile.core.bounds
        # A tip on the edge between two tiles is found in both, at the same vertex.
        found += [tip for tip in _tips(tile.part, least, radius) if x0 <= tip[0] <= x1 and y0 <= tip[1] <= y1]
    # Of tips that reach as far, but for rounding, the place decides.
    return tuple(sorted(dict.fromkeys(found), key=lambda tip: (-round(tip[2], 6), tip[0], tip[1])))


def _tips(shape: BaseGeometry, least: float, radius: float) -> list[Tip]:
    """Return what reaches farther than `least` beyond the opening of a shape, and is joined to it once."""
    rounded = opened(shape, radius)
    if rounded.is_empty:
        return []
    blunt = grow(rounded, least)
    tips = []
    for piece in polygons_of(shapely.difference(shape, blunt)):
        if piece.area > _NO_AREA_MM2 and len(polygons_of(piece.buffer(_RIM_MM).intersection(blunt))) <= 1:
            points = shapely.get_coordinates(piece)
            reach = shapely.distance(shapely.points(points), rounded)
            farthest = int(np.argmax(reach))
            tips.append((float(points[farthest, 0]), float(points[farthest, 1]), float(reach[farthest])))
    return tips
