"""Level shapes: where all of a level bar fits, and where two things fit on one level."""

from __future__ import annotations

import numpy as np
import shapely

from ...polygons import polygons_of

__all__ = ["capsule", "level_pair", "shrunk_level"]


def shrunk_level(shape: shapely.Geometry, half: float) -> shapely.Geometry:
    """Return where the middle of a level bar may lie so that all of it is inside a shape.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    half : float
        Half the length of the bar, which has no width.

    Notes
    -----
    The erosion by a segment (Serra 1982): the shape without what the segment sweeps along its boundary, a
    parallelogram for each edge.

    Examples
    --------
    >>> shrunk_level(shapely.box(0, 0, 10, 2), 3.0).bounds
    (3.0, 0.0, 7.0, 2.0)
    """
    if not half or shape.is_empty:
        return shape
    swept = []
    for ring in shapely.get_rings(polygons_of(shape)):
        points = shapely.get_coordinates(ring)
        left, right = points - np.array([half, 0.0]), points + np.array([half, 0.0])
        corners = np.stack([left[:-1], right[:-1], right[1:], left[1:]], axis=1)
        hulls = shapely.convex_hull(shapely.multipoints(shapely.points(corners)))
        swept += polygons_of(hulls)
    return shape.difference(shapely.union_all(swept))


def level_pair(shape: shapely.Geometry, middle: float) -> shapely.Geometry:
    """Return what a shape shares with its mirror image across the upright line at x = `middle`.

    Examples
    --------
    >>> level_pair(shapely.box(-2, 0, 5, 1), 0.0).bounds
    (-2.0, 0.0, 2.0, 1.0)
    """
    mirrored = shapely.transform(
        shape, lambda points: points * np.array([-1.0, 1.0]) + np.array([2 * middle, 0.0])
    )
    return shapely.intersection(shape, mirrored)


def capsule(at: tuple[float, float], stretch: float, radius: float, segments: int) -> shapely.Polygon:
    """Return a level bar with round ends; a disc where `stretch`, half its straight length, is 0."""
    x, y = at
    middle = shapely.LineString([(x - stretch, y), (x + stretch, y)]) if stretch else shapely.Point(x, y)
    shape: shapely.Polygon = middle.buffer(radius, quad_segs=segments)
    return shape
