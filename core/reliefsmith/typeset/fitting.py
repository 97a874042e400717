"""The largest text that a free area takes: where its hull can lie, exactly, at a size found by bisection."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from ..polygons import inscribed, polygons_of

__all__ = ["Fit", "largest_fit", "places_for"]

NEAR = 0.005
"""How exactly the size is found."""

_THIN_MM = 0.01
"""Rooms are drawn in and thinned by this before a text is tried in them: a third of the time."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A size in mm, and where the anchor of the text lies."""

    size_mm: float
    at_mm: tuple[float, float]


def largest_fit(
    room: shapely.Polygon, hull_at: Callable[[float], shapely.Polygon], least_mm: float, most_mm: float
) -> Fit | None:
    """Return the largest size at which the hull of a text lies in a room, or None if the least does not.

    Parameters
    ----------
    room : Polygon
        In mm; it may have openings.
    hull_at : callable
        Gives the convex hull of the text round its anchor for the height of its capitals in mm.
    least_mm, most_mm : float
        Sizes between which the largest is looked for.

    Notes
    -----
    At every size the places for the hull are found exactly (`places_for`); of those at the largest size the
    text takes the middle of the widest.
    """
    found: Fit | None = None
    low, high = least_mm, most_mm
    for size in (low, high):
        at = _middle(room, hull_at(size))
        if at is None:
            break
        found = Fit(size, at)
    else:
        return found
    while found is not None and high > low * (1 + NEAR):
        size = (low * high) ** 0.5
        at = _middle(room, hull_at(size))
        if at is None:
            high = size
        else:
            low, found = size, Fit(size, at)
    return found


def places_for(room: shapely.Polygon, hull: shapely.Polygon) -> shapely.Geometry:
    """Return where the centroid of a convex shape can lie so that all of it is in a room.

    Notes
    -----
    The shape lies in the room if its middle does and no edge of the room reaches into it. An edge reaches
    into it just where the middle is in the Minkowski sum of the edge and the shape turned by half a turn,
    which is the convex hull of that shape at both ends of the edge (geometry).

    Examples
    --------
    >>> places_for(shapely.box(0, 0, 10, 4), shapely.box(0, 0, 4, 2)).bounds
    (2.0, 1.0, 8.0, 3.0)
    """
    middle = np.array(hull.centroid.coords[0])
    turned = middle - shapely.get_coordinates(hull.exterior)[:-1]
    swept = []
    for ring in (room.exterior, *room.interiors):
        points = shapely.get_coordinates(ring)
        ends = np.stack([points[:-1], points[1:]], axis=1)
        corners = (ends[:, :, None, :] + turned[None, None, :, :]).reshape(len(ends), -1, 2)
        swept.append(shapely.convex_hull(shapely.multipoints(corners)))
    return shapely.difference(room, shapely.union_all(np.concatenate(swept)))


def _middle(room: shapely.Polygon, hull: shapely.Polygon) -> tuple[float, float] | None:
    """Return where the anchor of a hull lies in the middle of the widest of its places."""
    width, height = np.subtract(hull.bounds[2:], hull.bounds[:2])
    if width > room.bounds[2] - room.bounds[0] or height > room.bounds[3] - room.bounds[1]:
        return None
    places = polygons_of(places_for(room, hull))
    if not places:
        return None
    x, y = inscribed(max(places, key=lambda piece: (piece.area, piece.bounds))).center
    return (x - hull.centroid.x, y - hull.centroid.y)


def thinned(room: shapely.Polygon) -> list[shapely.Polygon]:
    """Return what of a room is left without needless vertices, all of it inside."""
    drawn_in = shapely.simplify(shapely.buffer(room, -2 * _THIN_MM, join_style="mitre"), _THIN_MM)
    return polygons_of(drawn_in)
