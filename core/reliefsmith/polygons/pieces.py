"""Pieces of a shape: its polygons, its openings, and how wide they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from ..model.arrays import Area

__all__ = [
    "Disc",
    "as_multi",
    "as_single",
    "inscribed",
    "merged",
    "openings",
    "polygons_of",
    "without",
    "without_openings",
]

INSCRIBED_TOLERANCE_MM = 0.002
"""How exactly the largest inscribed circle is found: two grid steps."""


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc: center and radius in mm."""

    x: float
    y: float
    radius: float

    @property
    def center(self) -> tuple[float, float]:
        """The center as a pair."""
        return (self.x, self.y)


def polygons_of(geometry: shapely.Geometry | Iterable[shapely.Geometry]) -> list[shapely.Polygon]:
    """Return the non-empty polygons of any geometry in their order; points and lines are left out.

    Examples
    --------
    >>> len(polygons_of(shapely.union(shapely.box(0, 0, 1, 1), shapely.box(2, 0, 3, 1))))
    2
    >>> polygons_of(shapely.Point(0, 0))
    []
    """
    if isinstance(geometry, shapely.Polygon):
        return [] if geometry.is_empty else [geometry]
    whole = geometry if isinstance(geometry, shapely.Geometry) else list(geometry)
    parts = shapely.get_parts(np.atleast_1d(np.asarray(whole, dtype=object)))
    if not (shapely.get_type_id(parts) <= shapely.GeometryType.POLYGON).all():  # collections of collections
        parts = shapely.get_parts(parts)
    kept = (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & ~shapely.is_empty(parts)
    return list(parts[kept])


def as_multi(geometry: shapely.Geometry | Iterable[shapely.Geometry]) -> shapely.MultiPolygon:
    """Return the polygons of any geometry as one MultiPolygon, which may be empty.

    Examples
    --------
    >>> as_multi([shapely.box(0, 0, 1, 1), shapely.Point(5, 5)]).wkt
    'MULTIPOLYGON (((1 0, 1 1, 0 1, 0 0, 1 0)))'
    >>> as_multi(shapely.Point()).is_empty
    True
    """
    if isinstance(geometry, shapely.MultiPolygon) and not shapely.is_empty(shapely.get_parts(geometry)).any():
        return geometry
    parts = polygons_of(geometry)
    if not parts:
        return shapely.MultiPolygon()
    whole: shapely.MultiPolygon = shapely.multipolygons(np.asarray(parts, dtype=object))
    return whole


def as_single(geometry: shapely.Geometry) -> Area:
    """Return the only polygon of a geometry as it is, several as a MultiPolygon.

    Examples
    --------
    >>> as_single(shapely.MultiPolygon([shapely.box(0, 0, 1, 1)])).geom_type
    'Polygon'
    """
    pieces = polygons_of(geometry)
    return pieces[0] if len(pieces) == 1 else as_multi(geometry)


def merged(geometries: Iterable[shapely.Geometry]) -> shapely.MultiPolygon:
    """Return the union of shapes as one MultiPolygon.

    Examples
    --------
    >>> merged([shapely.box(0, 0, 1, 1), shapely.box(1, 0, 3, 1)]).area
    3.0
    """
    return as_multi(shapely.union_all(list(geometries)))


def without(shape: shapely.Geometry, other: shapely.Geometry) -> shapely.MultiPolygon:
    """Return what of a shape lies outside another.

    Examples
    --------
    >>> two = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(5, 0, 6, 1)])
    >>> without(two, shapely.box(0, 0, 1, 1)).area
    1.0
    """
    return as_multi(shapely.difference(shape, other))


def openings(geometry: shapely.Geometry) -> list[shapely.Polygon]:
    """Return the openings (interior rings) of all polygons, as polygons of their own.

    Examples
    --------
    >>> [opening.area for opening in openings(shapely.box(0, 0, 9, 9) - shapely.box(1, 1, 3, 3))]
    [4.0]
    """
    found: list[shapely.Polygon] = []
    for polygon in polygons_of(geometry):
        found += [shapely.Polygon(ring) for ring in polygon.interiors]
    return found


def without_openings(geometry: shapely.Geometry) -> shapely.MultiPolygon:
    """Return the shape with every opening filled; pieces that lay inside one are merged.

    Examples
    --------
    >>> ring = shapely.box(0, 0, 4, 4) - shapely.box(1, 1, 3, 3)
    >>> ring.area, without_openings(ring).area
    (12.0, 16.0)
    """
    rings = [shapely.Polygon(polygon.exterior) for polygon in polygons_of(geometry)]
    return merged(rings)


def inscribed(polygon: shapely.Polygon) -> Disc:
    """Return the largest disc inside a polygon, to `INSCRIBED_TOLERANCE_MM`.

    Examples
    --------
    >>> round(inscribed(shapely.box(0, 0, 4, 2)).radius, 3)
    1.0
    """
    line = shapely.maximum_inscribed_circle(polygon, INSCRIBED_TOLERANCE_MM)
    (x, y), _ = shapely.get_coordinates(line)
    return Disc(float(x), float(y), float(shapely.length(line)))
