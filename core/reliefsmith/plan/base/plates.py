"""Shapes of base that are plates under the whole artwork: hull, circle, rectangle, shield."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ...polygons import ARC_MM, arc_segments, as_multi, disc, grow
from ...recipe.sections import BaseSettings

__all__ = ["plate"]

_SHIELD_WIDTHS = np.linspace(1.0, 1.8, 33)
"""Widths of a shield that are tried, in widths of the artwork."""


def plate(art: shapely.MultiPolygon, base: BaseSettings) -> shapely.MultiPolygon:
    """Return the plate of the wanted shape that holds the artwork with its border, without openings.

    Parameters
    ----------
    art : MultiPolygon
        Union of all areas in mm.
    base : BaseSettings
        `shape` is "hull", "circle", "rectangle" or "shield".

    Notes
    -----
    The circle is the smallest one round the artwork (Welzl 1991). The shield is a heater shield: a straight
    top, straight sides, and two arcs about the opposite sides' ends that meet in a point; of all its widths
    the one of least area is taken.
    """
    if base.shape == "circle":
        around = shapely.minimum_bounding_circle(art)
        middle, radius = around.centroid, float(shapely.minimum_bounding_radius(art))
        return as_multi(disc(middle.x, middle.y, radius + base.border_mm + ARC_MM))
    if base.shape == "shield":
        core: BaseGeometry = _shield(art)
    else:
        core = art.convex_hull if base.shape == "hull" else shapely.box(*art.bounds)
    return grow(core, base.border_mm, base.corners)


def _shield(art: shapely.MultiPolygon) -> shapely.Polygon:
    """Return the least heater shield round the artwork, its top and its axis those of the bounding box."""
    left, _, right, top = art.bounds
    points = shapely.get_coordinates(art.convex_hull.exterior)
    aside, below = np.abs(points[:, 0] - (left + right) / 2), top - points[:, 1]
    widths = (right - left) * _SHIELD_WIDTHS
    sides = np.array([_side(width, aside, below) for width in widths])
    # An arch of two arcs over the width w has the area w^2 (pi / 3 - sqrt(3) / 4).
    areas = np.round(widths * sides + widths**2 * (np.pi / 3 - np.sqrt(3) / 4), 6)
    best = int(np.argmin(areas))
    return _heater((left + right) / 2, top, float(widths[best]), float(sides[best]))


def _side(width: float, aside: np.ndarray, below: np.ndarray) -> float:
    """Return how long the straight sides must be for arcs of this width to pass below all points."""
    drop = np.sqrt(np.maximum(width**2 - (aside + width / 2) ** 2, 0.0))
    return float(max(0.0, (below - drop).max()) + 2 * ARC_MM)


def _heater(axis: float, top: float, width: float, side: float) -> shapely.Polygon:
    steps = max(2, arc_segments(width))
    angles = np.linspace(0.0, np.pi / 3, steps + 1)
    right = np.column_stack([width * np.cos(angles) - width / 2, -side - width * np.sin(angles)])
    left = right[-2::-1] * (-1.0, 1.0)
    corners = np.array([[-width / 2, 0.0], [width / 2, 0.0]])
    return shapely.Polygon(np.concatenate([corners, right, left]) + np.array([axis, top]))
