"""The largest text that a box or a free area takes: where its hull can lie, at a size found by bisection."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Flags, Floats, Points, Shapes
from ..polygons import as_multi, inscribed, polygons_of

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
    text takes the middle. The first size, and until then where there may be places, a raster of the room
    foretells (`_Raster`), the next size the extents, else it is the one halfway.
    """
    sizes = [least_mm, *_sizes(least_mm, most_mm)]
    low, high, found = -1, len(sizes), None
    within: shapely.Geometry | None = None
    raster, back = _raster(room), _FIRST_BACK
    largest = hull_at(sizes[-1])
    tried = bisect_right(sizes, sizes[-1] * _room_for(largest, room)) - 1
    tried = max(min(tried, raster.most(largest, sizes)), 0)
    while True:
        hull = hull_at(sizes[tried])
        near = raster.near(hull) if within is None else within
        places = polygons_of(places_for(room, hull, near))
        if places:
            low, within = tried, shapely.buffer(shapely.multipolygons(places), _NEAR_MM)
            x, y = _middle(max(places, key=lambda piece: (piece.area, piece.bounds)))
            found = Fit(sizes[tried], (x - hull.centroid.x, y - hull.centroid.y))
        else:
            high = tried
        if high - low <= 1 or high == 0:
            return found
        foretold = bisect_right(sizes, sizes[tried] * _room_for(hull, room)) - 1
        if found is not None:
            tried = max(foretold, low + 1) if foretold < high else (low + high) // 2
        else:  # back from the bound in growing steps
            tried, back = max(min(foretold, high - back), 0), 2 * back


def _room_for(hull: shapely.Polygon, room: shapely.Polygon) -> float:
    """Return how often the extent of a hull goes into that of a room: an upper bound, and exact in a box."""
    sides = (np.subtract(shape.bounds[2:], shape.bounds[:2]) for shape in (room, hull))
    return float(np.divide(*sides).min())


_FIRST_BACK = 4
"""From a size that is too large the search steps back by so many, then by twice as many: 2 %, 4 %."""


@dataclass(frozen=True, slots=True)
class _Raster:
    """Samples of a room on a square lattice, those outside it summed up from the lower left corner.

    What lies in a room has no such sample in it. So the middle of a hull lies in no cell round a sample from
    which a box within the hull, drawn in by half a cell, holds one of them.
    """

    origin: tuple[float, float]
    step_mm: float
    sums: npt.NDArray[np.int32]

    def near(self, hull: shapely.Polygon) -> shapely.MultiPolygon:
        """Return cells beside which a hull has no place for its centroid."""
        turns = np.diff(np.pad(self._open(_boxes(hull)), ((0, 0), (1, 1))).astype(np.int8), axis=1)
        (rows, first), (_, end) = np.nonzero(turns == 1), np.nonzero(turns == -1)  # runs of cells in a row
        left, right = (self.origin[0] + self.step_mm * (at - 0.5) for at in (first, end))
        low, high = (self.origin[1] + self.step_mm * (rows + half) for half in (-0.5, 0.5))  # shared by rows
        return as_multi(shapely.union_all(shapely.box(left, low, right, high)))

    def most(self, hull: shapely.Polygon, sizes: Sequence[float]) -> int:
        """Return which of rising sizes is the largest at which the last one's hull, scaled, may have room."""
        boxes, size = _boxes(hull), sizes[-1]
        low, high = 0, len(sizes)
        while high - low > 1:
            middle = (low + high) // 2
            fits = self._open(boxes * (sizes[middle] / size)).any()
            low, high = (middle, high) if fits else (low, middle)
        return low

    def _open(self, boxes: Floats) -> Flags:
        """Return round which samples boxes (n, 4), drawn in by half a cell, hold none outside the room."""
        rows, columns = self.sums.shape[0] - 1, self.sums.shape[1] - 1
        found = np.ones((rows, columns), dtype=np.bool_)
        for left, low, right, high in boxes.tolist():
            ends = [math.ceil(left / self.step_mm + 0.5), math.ceil(low / self.step_mm + 0.5)]
            ends += [math.floor(right / self.step_mm - 0.5), math.floor(high / self.step_mm - 0.5)]
            if ends[0] > ends[2] or ends[1] > ends[3]:
                continue
            x0, x1 = (np.clip(np.arange(columns) + at, 0, columns) for at in (ends[0], ends[2] + 1))
            y0, y1 = (np.clip(np.arange(rows) + at, 0, rows) for at in (ends[1], ends[3] + 1))
            strips = self.sums[y1] - self.sums[y0]
            found &= strips.take(x1, axis=1) == strips.take(x0, axis=1)
        return found


@lru_cache(maxsize=8)
def _raster(room: shapely.Polygon) -> _Raster:
    """Return the raster of a room, the same for all texts that are tried in it."""
    left, low, right, high = room.bounds
    step = max(right - left, high - low) / _SAMPLES
    x, y = (np.arange(start - step, end + 2 * step, step) for start, end in ((left, right), (low, high)))
    shapely.prepare(room)
    outside = ~shapely.contains_xy(room, *np.meshgrid(x, y))
    sums = np.zeros((len(y) + 1, len(x) + 1), dtype=np.int32)
    sums[1:, 1:] = outside.cumsum(axis=0).cumsum(axis=1)
    return _Raster((float(x[0]), float(y[0])), step, sums)


_SAMPLES = 160
"""Along the longer side of a room: half a mm or less for what a keyring has room for."""

_WIDTHS = np.array((0.95, 0.6, 0.2))
"""Of boxes in a hull, by its own: the first is the longest line of a word, the last its tallest letter."""


def _boxes(hull: shapely.Polygon) -> Floats:
    """Return boxes (n, 4) within a convex shape, left, low, right, high from its centroid."""
    middle = shapely.get_coordinates(hull.centroid)[0]
    points = shapely.get_coordinates(hull.exterior) - middle
    a, b = points[:-1], points[1:]
    left, right = points[:, 0].min(), points[:, 0].max()
    spare = (right - left) * (1 - _WIDTHS) / 2
    sides = np.stack([left + spare, right - spare])
    share = (sides[..., None] - a[:, 0]) / np.where(a[:, 0] == b[:, 0], np.inf, b[:, 0] - a[:, 0])
    heights = a[:, 1] + share * (b[:, 1] - a[:, 1])
    crossed = (share >= 0) & (share <= 1) & (a[:, 0] != b[:, 0])
    top = np.where(crossed, heights, -np.inf).max(axis=2).min(axis=0)
    low = np.where(crossed, heights, np.inf).min(axis=2).max(axis=0)
    return np.stack([sides[0], low, sides[1], top], axis=1)


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
    turned = middle - shapely.get_coordinates(shapely.orient_polygons(hull).exterior)[:-1]
    rings = [shapely.get_coordinates(ring) for ring in (room.exterior, *room.interiors)]
    starts, ends = (np.concatenate([points[part] for points in rings]) for part in _BOTH_ENDS)
    free = room if within is None else shapely.intersection(room, within)
    if free.is_empty:
        return free
    low, high = np.reshape(free.bounds, (2, 2))
    reach_low, reach_high = turned.min(axis=0), turned.max(axis=0)
    near = (np.minimum(starts, ends) + reach_low <= high) & (np.maximum(starts, ends) + reach_high >= low)
    blocked = _swept(starts[near.all(axis=1)], ends[near.all(axis=1)], turned)
    shapely.prepare(free)
    return shapely.difference(free, shapely.union_all(blocked[shapely.intersects(free, blocked)]))


_BOTH_ENDS = slice(None, -1), slice(1, None)


def _swept(starts: Points, ends: Points, shape: Points) -> Shapes:
    """Return what a convex shape sweeps along each of several edges (n, 2): its Minkowski sums with them.

    Seen along an edge, the corners ahead of the outermost on both sides lie at its end, the others at its
    start.

    Parameters
    ----------
    starts, ends : float64 array of shape (n, 2)
    shape : float64 array of shape (k, 2)
        Counter-clockwise.
    """
    along, count = ends - starts, len(shape)
    aside = along[:, :1] * shape[:, 1] - along[:, 1:] * shape[:, 0]
    right, left = aside.argmin(axis=1)[:, None], aside.argmax(axis=1)[:, None]
    place = np.arange(count + 2)
    is_ahead = place <= (left - right) % count
    corner = (right + place - ~is_ahead) % count
    rings = shape[corner] + np.where(is_ahead[:, :, None], ends[:, None], starts[:, None])
    return np.asarray(shapely.polygons(rings), dtype=np.object_)


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
