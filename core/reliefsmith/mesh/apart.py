"""Shapes whose rings touch at a point are moved apart there, so that their solid stays closed.

Where two rings of one part meet at a point, the extruded walls would share an edge four ways, and a reader
that merges equal vertices would find the solid open. A small octagon round such a point is cut away.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import GeometryError
from ..model.arrays import Points

__all__ = ["moved_apart", "touching_points"]

CUT_MM = 0.025
"""Radius of the octagon: far under a nozzle's width, far over the grid."""

_ROUNDS = 6
_GRID_MM = 0.001


def touching_points(polygons: list[shapely.Polygon]) -> Points:
    """Return the points (n, 2) at which rings of these polygons touch each other or themselves."""
    rings = shapely.get_rings(np.array(polygons, dtype=object))
    points = np.concatenate([shapely.get_coordinates(ring)[:-1] for ring in rings])
    unique, counts = np.unique(points, axis=0, return_counts=True)
    return np.asarray(unique[counts > 1])


def moved_apart(geometry: shapely.Polygon | shapely.MultiPolygon) -> list[shapely.Polygon]:
    """Return the polygons of a shape, cut back where their rings touch.

    Parameters
    ----------
    geometry : Polygon or MultiPolygon
        On the grid; rings touch, if at all, at vertices of both (as in a noded coverage).

    Raises
    ------
    GeometryError
        If rings still touch after a few rounds.
    """
    shape: BaseGeometry = geometry
    for _ in range(_ROUNDS):
        polygons = [
            item for item in shapely.get_parts(shape) if item.geom_type == "Polygon" and item.area > 0
        ]
        if not polygons:
            raise GeometryError("a part has no area left; print it larger or merge its color")
        touching = touching_points(polygons)
        if len(touching) == 0:
            return polygons
        shape = shapely.difference(shape, shapely.union_all(_octagons(touching)), grid_size=_GRID_MM)
    x, y = touching[0]
    raise GeometryError(f"two edges of one part cannot be parted near ({x:.2f}, {y:.2f}) mm; smooth it")


def _octagons(centers: Points) -> list[shapely.Polygon]:
    turns = [math.pi * (2 * k + 1) / 8 for k in range(8)]
    corners = np.array([(math.cos(turn), math.sin(turn)) for turn in turns]) * CUT_MM
    return [shapely.Polygon(center + corners) for center in centers]
