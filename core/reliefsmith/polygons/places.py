"""Places given by hand: points and polygons, and what of a drawing they mean."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ..errors import RecipeError
from .coverage import faces_of, union_of_faces
from .grid import snapped
from .pieces import polygons_of

__all__ = ["enclosed", "nearest_mm", "opening_at", "piece_at", "place_in", "window_of"]

Point = tuple[float, float]


def window_of(corners: Sequence[Point], name: str) -> shapely.Polygon:
    """Return a polygon from its corners, on the grid; `name` says in an error whose it is.

    Raises
    ------
    RecipeError
        If it crosses itself or encloses nothing.

    Examples
    --------
    >>> window_of([(0, 0), (2, 0), (2, 1)], "erase mark 1").area
    1.0
    """
    window = shapely.Polygon(snapped(corners))
    if not window.is_valid:
        raise RecipeError(
            f"the polygon of {name} crosses itself or encloses nothing; give its corners in turn"
        )
    return window


def place_in(corners: Sequence[Point]) -> Point:
    """Return a point inside a polygon, to 1 um, by which it is shown.

    Examples
    --------
    >>> place_in([(0, 0), (4, 0), (4, 2), (0, 2)])
    (2.0, 1.0)
    """
    point = shapely.Polygon(corners).representative_point()
    return (round(point.x, 3), round(point.y, 3))


def piece_at(polygons: Sequence[shapely.MultiPolygon], at_mm: Point) -> tuple[int, shapely.Polygon] | None:
    """Return the piece that holds a point, and the number of its entry; on a boundary the first one.

    Examples
    --------
    >>> two = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(5, 0, 6, 1)])
    >>> piece_at([shapely.MultiPolygon(), two], (5.5, 0.5))[1].bounds
    (5.0, 0.0, 6.0, 1.0)
    """
    point = shapely.Point(at_mm)
    for index, polygon in enumerate(polygons):
        for piece in polygons_of(polygon):
            if piece.intersects(point):
                return index, piece
    return None


def enclosed(polygons: Sequence[shapely.MultiPolygon]) -> list[shapely.Polygon]:
    """Return the openings that the polygons of a coverage enclose together, in register with them.

    Examples
    --------
    >>> ring = shapely.box(0, 0, 9, 9) - shapely.box(1, 1, 4, 4)
    >>> [opening.area for opening in enclosed([shapely.MultiPolygon([ring, shapely.box(2, 2, 3, 3)])])]
    [8.0]
    """
    art = union_of_faces(polygons)
    if not any(piece.interiors for piece in polygons_of(art)):
        return []
    faces = faces_of([art])
    shapely.prepare(art)
    return list(faces[~shapely.intersects(art, shapely.point_on_surface(faces))])


def opening_at(polygons: Sequence[shapely.MultiPolygon], at_mm: Point) -> shapely.Polygon | None:
    """Return the opening, enclosed by a coverage, that holds a point.

    Examples
    --------
    >>> ring = shapely.MultiPolygon([shapely.box(0, 0, 4, 4) - shapely.box(1, 1, 3, 3)])
    >>> opening_at([ring], (2, 2)).area
    4.0
    >>> opening_at([ring], (0.5, 2)) is None
    True
    """
    point = shapely.Point(at_mm)
    return next((opening for opening in enclosed(polygons) if opening.contains(point)), None)


def nearest_mm(polygons: Sequence[shapely.MultiPolygon], place: shapely.Geometry) -> tuple[int, float] | None:
    """Return the entry nearest to a place, and how far away it is; None where all are empty.

    Examples
    --------
    >>> areas = [shapely.MultiPolygon([shapely.box(x, 0, x + 1, 1)]) for x in (0, 10)]
    >>> nearest_mm(areas, shapely.Point(7, 0.5))
    (1, 3.0)
    """
    gaps = [np.inf if polygon.is_empty else float(place.distance(polygon)) for polygon in polygons]
    index = int(np.argmin(gaps)) if gaps else 0
    return (index, gaps[index]) if gaps and np.isfinite(gaps[index]) else None
