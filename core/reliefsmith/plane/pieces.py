"""Pieces of a shape: its polygons, its openings, and how wide they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

__all__ = ["Disc", "as_multi", "inscribed", "merged", "openings", "polygons_of", "without_openings"]

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


def polygons_of(geometry: BaseGeometry | Iterable[BaseGeometry]) -> list[shapely.Polygon]:
    """Return the non-empty polygons of any geometry in their order; points and lines are left out.

    Examples
    --------
    >>> len(polygons_of(shapely.union(shapely.box(0, 0, 1, 1), shapely.box(2, 0, 3, 1))))
    2
    >>> polygons_of(shapely.Point(0, 0))
    []
    """
    whole = geometry if isinstance(geometry, BaseGeometry) else list(geometry)
    parts = shapely.get_parts(shapely.get_parts(np.atleast_1d(np.asarray(whole, dtype=object))))
    kept = (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & ~shapely.is_empty(parts)
    return list(parts[kept])


def as_multi(geometry: BaseGeometry | Iterable[BaseGeometry]) -> shapely.MultiPolygon:
    """Return the polygons of any geometry as one MultiPolygon, which may be empty."""
    return shapely.MultiPolygon(polygons_of(geometry))


def merged(geometries: Iterable[BaseGeometry]) -> shapely.MultiPolygon:
    """Return the union of shapes as one MultiPolygon."""
    return as_multi(shapely.union_all(list(geometries)))


def openings(geometry: BaseGeometry) -> list[shapely.Polygon]:
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


def without_openings(geometry: BaseGeometry) -> shapely.MultiPolygon:
    """Return the shape with every opening filled; pieces that lay inside one are merged."""
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
