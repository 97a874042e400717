"""Shapes of base beside the outline: plates under the whole artwork, a field for texts, a spike for soil."""

from __future__ import annotations

import numpy as np
import shapely

from ...polygons import ARC_MM, arc_segments, as_multi, disc, grow, merged, polygons_of
from ...recipe.sections import BaseSettings
from ..links.bars import fillets

__all__ = ["field_box", "plate", "with_spike"]

_SPIKE_TIP = 2.0
"""A spike is pointed over so many of its widths (common practice, no source)."""

_SPIKE_ROUND_MM = 1.0
"""Radius of its tip, or less where it is narrow: it goes into soil and not into a hand."""

_NECK_MM = 3.0
"""Radius of the fillets at its neck, where it is bent."""

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
        core: shapely.Geometry = _shield(art)
    else:
        core = art.convex_hull if base.shape == "hull" else shapely.box(*art.bounds)
    return grow(core, base.border_mm, base.corners)


def field_box(artwork_mm: tuple[float, float], field_mm: tuple[float, float]) -> shapely.Polygon:
    """Return the field for texts: of this width and height, right below the artwork's box.

    Examples
    --------
    >>> field_box((40, 30), (60, 12)).bounds
    (-30.0, -27.0, 30.0, -15.0)
    """
    (wide, high), low = field_mm, -artwork_mm[1] / 2
    return shapely.box(-wide / 2, low - high, wide / 2, low)


def with_spike(base: shapely.MultiPolygon, spike_mm: tuple[float, float]) -> shapely.MultiPolygon:
    """Return a base with a spike of this length and width below its lowest point, in its middle.

    The spike is rooted in what lies lowest above it, a width deep at least, with fillets at its neck.

    Examples
    --------
    >>> plate = as_multi(shapely.box(-20, 0, 20, 30))
    >>> [round(float(side)) for side in with_spike(plate, (50.0, 8.0)).bounds]
    [-20, -50, 20, 30]
    """
    length, width = max(spike_mm), min(spike_mm)
    low, half, tip = base.bounds[1], width / 2, base.bounds[1] - length
    middle, root = _root(base, half)
    upright = shapely.box(
        middle - half,
        min(tip + _SPIKE_TIP * width, low),
        middle + half,
        min(root.bounds[3], root.bounds[1] + 2 * width),
    )
    radius = min(_SPIKE_ROUND_MM, half / 2)
    spike = shapely.convex_hull(shapely.union(upright, disc(middle, tip + radius, radius)))
    whole = merged([base, spike])
    return merged([whole, fillets(whole, spike, _NECK_MM)])


def _root(base: shapely.MultiPolygon, half: float) -> tuple[float, shapely.Polygon]:
    """Return where across a spike lies, and the lowest part of the base above it."""
    points = shapely.get_coordinates(base)
    lowest = float(points[np.argmin(points[:, 1]), 0])
    for middle in (base.centroid.x, lowest):  # between two pieces there may be nothing
        above = polygons_of(
            shapely.clip_by_rect(base, middle - half, base.bounds[1], middle + half, base.bounds[3])
        )
        if above:
            break
    return middle, min(above, key=lambda piece: (piece.bounds[1], piece.bounds))


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
