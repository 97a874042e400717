"""Closed solids from sections: one set of ring vertices serves top, bottom and wall.

A solid is a stack of sections, each a polygon between two heights. Walls stand on every ring edge of a
section; caps are what one section does not share with the next. Vertices are found again by whole grid steps,
so nothing is welded by a tolerance: the solid is closed by construction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Ints
from ..polygons import as_multi, from_grid, noded_coverage, on_grid
from .gridrings import Rings, found_in, rings_of
from .surface import Cast, Mesh
from .triangulate import triangulate

__all__ = [
    "Section",
    "covered",
    "extruded",
    "levels_of_sections",
    "prism",
    "section_difference",
    "upright",
]


@dataclass(frozen=True, slots=True)
class Section:
    """A polygon between two heights in mm."""

    polygon: shapely.Geometry
    bottom_mm: float
    top_mm: float


def prism(polygon: shapely.Geometry, bottom_mm: float, top_mm: float) -> Mesh:
    """Extrude a Polygon or MultiPolygon on the grid between two heights.

    Returns
    -------
    Mesh
        For n ring vertices and h holes: 2 n vertices, 4 n + 4 h - 4 triangles (Euler-Poincare formula),
        summed up over the polygons.

    Raises
    ------
    GeometryError
        If the polygon is empty or off the grid, or the heights are not in order.

    Examples
    --------
    >>> box = prism(shapely.box(0, 0, 3, 2), 0.0, 1.0)
    >>> box.vertices.shape, box.triangles.shape
    ((8, 3), (12, 3))
    """
    return extruded([Section(polygon, bottom_mm, top_mm)])


def extruded(sections: Sequence[Section]) -> Mesh:
    """Build one closed solid from sections that stand on each other.

    Parameters
    ----------
    sections : sequence of Section
        From the lowest up, without gaps in height. Their polygons are unions of faces of one noded coverage,
        so rings of neighboring sections share vertices.

    Raises
    ------
    GeometryError
        If a section is empty or off the grid, or the heights do not follow each other.

    Examples
    --------
    >>> plate = Section(shapely.box(0, 0, 9, 9), 0.0, 1.0)
    >>> pocket = Section(shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 6, 6), 1.0, 2.0)
    >>> len(extruded([plate, pocket]).vertices)
    20
    """
    levels = levels_of_sections(sections)
    return upright([section.polygon for section in sections]).at(levels)


def levels_of_sections(sections: Sequence[Section]) -> tuple[float, ...]:
    """Return the heights in mm at which sections that stand on each other begin and end, from the lowest up.

    Raises
    ------
    GeometryError
        If a section is empty, or the heights do not follow each other.

    Examples
    --------
    >>> square = shapely.box(0, 0, 2, 2)
    >>> levels_of_sections([Section(square, 0.0, 1.0), Section(square, 1.0, 1.6)])
    (0.0, 1.0, 1.6)
    """
    for section in sections:
        if section.polygon.is_empty:
            raise GeometryError("a part has no area left; print it larger or merge its color")
        if not section.bottom_mm < section.top_mm:
            low, high = section.bottom_mm, section.top_mm
            raise GeometryError(f"the top of a part, {high:g} mm, must lie above its bottom, {low:g} mm")
    if any(one.top_mm != other.bottom_mm for one, other in pairwise(sections)):
        raise GeometryError("the sections of a solid must follow each other without a gap in height")
    return (sections[0].bottom_mm, *(section.top_mm for section in sections))


def upright(polygons: Sequence[shapely.Geometry]) -> Cast:
    """Build the solid of polygons that stand on each other, at no heights yet.

    Parameters
    ----------
    polygons : sequence of Polygon or MultiPolygon
        As `extruded` takes them, from the lowest up.

    Examples
    --------
    >>> box = upright([shapely.box(0, 0, 3, 2)])
    >>> box.level.tolist(), box.at([0.0, 1.5]).vertices[:, 2].tolist()
    ([0, 0, 0, 0, 1, 1, 1, 1], [0.0, 0.0, 0.0, 0.0, 1.5, 1.5, 1.5, 1.5])
    """
    rings = [rings_of(polygon) for polygon in polygons]
    points = np.unique(np.concatenate([item.points for item in rings]), axis=0)
    own = [found_in(item.points, points) for item in rings]
    count = len(points)
    pieces = [_wall(own[level], rings[level], count) + level * count for level in range(len(rings))]
    for level in range(len(rings) + 1):
        below = polygons[level - 1] if level else shapely.MultiPolygon()
        above = polygons[level] if level < len(polygons) else shapely.MultiPolygon()
        pieces.append(covered(section_difference(below, above), points) + level * count)
        pieces.append(covered(section_difference(above, below), points)[:, ::-1] + level * count)
    whole = np.concatenate(pieces)
    corners = np.unique(whole.reshape(-1))
    triangles = np.searchsorted(corners, whole)
    floor, place = np.divmod(corners, count)
    return Cast(from_grid(points[place]), floor, np.zeros(len(corners)), triangles.astype(np.int32))


def section_difference(inside: shapely.Geometry, outside: shapely.Geometry) -> shapely.MultiPolygon:
    """Return what one section has over another; both are unions of faces of one noded coverage.

    Their vertices are shared already, so a plain overlay adds none; where it does all the same, out of
    rounding, the faces are told apart again on the grid.

    Examples
    --------
    >>> section_difference(shapely.box(0, 0, 3, 2), shapely.box(0, 0, 1, 2)).bounds
    (1.0, 0.0, 3.0, 2.0)
    """
    found = as_multi(shapely.difference(inside, outside))
    return found if on_grid(found) else noded_coverage([as_multi(outside), as_multi(inside)])[1]


def covered(shape: shapely.Geometry, points: Ints) -> Ints:
    """Return triangles over a shape, as indices into points (n, 2) in grid steps.

    Raises
    ------
    GeometryError
        If a vertex of the shape is none of the points.
    """
    rings = rings_of(shape)
    if len(rings.points) == 0:
        return np.empty((0, 3), dtype=np.int64)
    at = found_in(rings.points, points)
    if (at < 0).any():
        raise GeometryError("sections of a solid cross between their vertices; node them together first")
    found: Ints = at[triangulate(rings)]
    return found


def _wall(ids: Ints, rings: Rings, rise: int) -> Ints:
    """Return two triangles for each ring edge; rings run with the material on their left."""
    here, after = ids, ids[rings.following]
    lower = np.column_stack([here, after, after + rise])
    upper = np.column_stack([here, after + rise, here + rise])
    return np.concatenate([lower, upper])
