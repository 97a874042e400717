"""The largest text that a free area takes: where its hull can lie, exactly, at a size found by bisection."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from ..polygons import inscribed, polygons_of

__all__ = ["Fit", "hull_of", "largest_fit", "places_for", "thinned"]

_NEAR = 0.005
"""How exactly the size is found, as a share of it: 0.025 mm of capitals of 5 mm."""

_NEAR_MM = 0.05
"""Places are looked for so much beside those at a smaller size: gaps between letters do not grow with it."""

_THIN_MM = 0.004
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
    At every size the places for the hull are found exactly (`places_for`), only where the last smaller one
    had some: a convex shape holds itself made smaller about its middle. Of the places at the largest size the
    text takes the middle. The next size is the one that the extents foretell, else that halfway.
    """
    sizes = [least_mm, *_sizes(least_mm, most_mm)]
    low, high, found = 0, len(sizes), None
    within: shapely.Geometry = room
    tried = 0
    while True:
        hull = hull_at(sizes[tried])
        places = polygons_of(places_for(room, hull, within))
        if places:
            low, within = tried, shapely.buffer(shapely.multipolygons(places), _NEAR_MM)
            x, y = _middle(max(places, key=lambda piece: (piece.area, piece.bounds)))
            found = Fit(sizes[tried], (x - hull.centroid.x, y - hull.centroid.y))
        elif found is None:
            return None
        else:
            high = tried
        if high - low <= 1:
            return found
        guess = bisect_right(sizes, sizes[tried] * _room_for(hull, room)) - 1
        tried = max(guess, low + 1) if guess < high else (low + high) // 2


def _room_for(hull: shapely.Polygon, room: shapely.Polygon) -> float:
    """Return how often the extent of a hull goes into that of a room: an upper bound, and exact in a box."""
    sides = (np.subtract(shape.bounds[2:], shape.bounds[:2]) for shape in (room, hull))
    return float(np.divide(*sides).min())


def _sizes(least_mm: float, most_mm: float) -> list[float]:
    """Return the sizes above the least that are tried: the same for all texts, which then share letters."""
    first, last = (math.log(size, 1 + _NEAR) for size in (least_mm, most_mm))
    powers = range(math.floor(first) + 1, math.floor(last) + 1)
    return [size for size in ((1 + _NEAR) ** power for power in powers) if least_mm < size <= most_mm]


def places_for(
    room: shapely.Polygon, hull: shapely.Polygon, within: shapely.Geometry | None = None
) -> shapely.Geometry:
    """Return where the centroid of a convex shape can lie so that all of it is in a room.

    Parameters
    ----------
    room, hull : Polygon
    within : geometry, optional
        Only places in it are looked for.

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
    middle = shapely.get_coordinates(hull.centroid)[0]
    turned = middle - shapely.get_coordinates(hull.exterior)[:-1]
    swept = []
    for ring in (room.exterior, *room.interiors):
        points = shapely.get_coordinates(ring)
        ends = np.stack([points[:-1], points[1:]], axis=1)
        corners = (ends[:, :, None, :] + turned[None, None, :, :]).reshape(len(ends), -1, 2)
        swept.append(shapely.convex_hull(shapely.multipoints(corners)))
    free = room if within is None else shapely.intersection(room, within)
    shapely.prepare(free)
    blocked = np.concatenate(swept)
    return shapely.difference(free, shapely.union_all(blocked[shapely.intersects(free, blocked)]))


def _middle(places: shapely.Polygon) -> tuple[float, float]:
    """Return the centroid of places, or the middle of the widest where that is none of them."""
    middle = places.centroid
    return (middle.x, middle.y) if places.contains(middle) else inscribed(places).center


def hull_of(shape: shapely.Geometry) -> shapely.Polygon:
    """Return a convex polygon of few corners that holds a shape."""
    few = shapely.simplify(shapely.convex_hull(shape), _THIN_MM)
    return shapely.convex_hull(shapely.buffer(few, _THIN_MM, join_style="mitre"))


def thinned(room: shapely.Polygon) -> list[shapely.Polygon]:
    """Return what of a room is left without needless vertices, all of it inside."""
    drawn_in = shapely.simplify(shapely.buffer(room, -2 * _THIN_MM, join_style="mitre"), _THIN_MM)
    return polygons_of(drawn_in)
