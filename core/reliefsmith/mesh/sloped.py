"""Sloped tops: one flat triangulation of the outline, lifted to heights, set on upright walls.

A top is a graph over the plane: every point has one height, so it cannot fold over or meet itself, and the
solid is closed as soon as its outline is that of the walls below. Between two contours lies a band that is
triangulated by itself; its points are whole grid steps, found again by number: no tolerance welds anything.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Floats, Ints
from ..polygons import from_grid, to_grid
from ..polygons.groups import repeated_rows
from .gridrings import found_in, rings_of
from .lattice import lattice_cells
from .modeled import ModeledTop, with_tops
from .prism import Section, covered, levels_of_sections, section_difference, upright
from .surface import HEIGHT_DECIMALS, Mesh

__all__ = ["Top", "contour_top", "draped_top", "sloped"]


@dataclass(frozen=True, slots=True)
class Top:
    """A triangulated top.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
        In grid steps, no two equal.
    heights : float64 array of shape (n,)
        In mm.
    triangles : int64 array of shape (m, 3)
        Counter-clockwise seen from above; together they cover the outline once.
    """

    points: Ints
    heights: Floats
    triangles: Ints


def contour_top(shapes: Sequence[shapely.Geometry], levels_mm: Sequence[float]) -> Top:
    """Return the top that slopes from contour to contour and is level within the last one.

    Parameters
    ----------
    shapes : sequence of Polygon or MultiPolygon
        On the grid, each within the one before, without touching it.
    levels_mm : sequence of float
        The height of each.

    Raises
    ------
    GeometryError
        If a shape is empty or off the grid, or one touches the next.

    Examples
    --------
    >>> import shapely
    >>> top = contour_top([shapely.box(0, 0, 4, 4), shapely.box(1, 1, 3, 3)], [0.0, 1.0])
    >>> top.points.shape, top.triangles.shape
    ((8, 2), (10, 3))
    """
    rings = [rings_of(shape) for shape in shapes]
    points = np.concatenate([item.points for item in rings])
    heights = np.repeat(np.asarray(levels_mm, dtype=np.float64), [len(item.points) for item in rings])
    _refuse_touching(points)
    bands = [section_difference(one, other) for one, other in pairwise(shapes)]
    pieces = [covered(band, points) for band in (*bands, shapes[-1])]
    return Top(points, heights.round(HEIGHT_DECIMALS), np.concatenate(pieces))


def draped_top(
    outline: shapely.Geometry,
    edge_mm: float,
    inner: shapely.Geometry,
    heights_at: Callable[[Floats], Floats],
    step_mm: float,
) -> Top:
    """Return a top that stands steeply from its outline up to an inner shape, and lies there as a cloth does.

    Parameters
    ----------
    outline : Polygon or MultiPolygon
    edge_mm : float
        Height along the outline.
    inner : Polygon or MultiPolygon
        Within the outline, without touching it.
    heights_at : callable
        Gives heights (n,) in mm for places (n, 2) in mm.
    step_mm : float
        Distance of the points inside, a whole number of grid steps.

    Examples
    --------
    >>> import shapely
    >>> plate = shapely.box(0, 0, 4, 4)
    >>> top = draped_top(plate, 1.0, shapely.box(1, 1, 3, 3), lambda at: 1.5 + 0.1 * at[:, 0], 0.5)
    >>> float(top.heights.min()), float(top.heights.max())
    (1.0, 1.8)
    """
    shell, rings = rings_of(outline), rings_of(inner)
    cells = lattice_cells(inner, step_mm)
    points = np.concatenate([shell.points, rings.points, cells.points])
    around = inner if cells.shape.is_empty else section_difference(inner, cells.shape)
    _refuse_touching(points)
    draped = heights_at(from_grid(points[len(shell.points) :]))
    heights = np.concatenate([np.full(len(shell.points), edge_mm), draped]).round(HEIGHT_DECIMALS)
    first = len(shell.points) + len(rings.points)
    inside = cells.triangles(heights[first:]) + first
    pieces = [covered(section_difference(outline, inner), points), covered(around, points), inside]
    return Top(points, heights, np.concatenate(pieces))


def sloped(sections: Sequence[Section], top: Top) -> Mesh:
    """Build one closed solid from sections that stand on each other, the last with a sloped top.

    Parameters
    ----------
    sections : sequence of Section
        As for `extruded`; the last one ends at the height of the top's outline.
    top : Top
        Over the polygon of the last section, nowhere below its outline.

    Notes
    -----
    The level cap of the prism is exchanged for the top; along the outline both have the same vertices.

    Examples
    --------
    >>> import shapely
    >>> square = shapely.box(0, 0, 4, 4)
    >>> top = contour_top([square, shapely.box(1, 1, 3, 3)], [1.0, 2.0])
    >>> len(sloped([Section(square, 0.0, 1.0)], top).triangles)
    20
    """
    edge_mm = sections[-1].top_mm
    if (top.heights < edge_mm).any():
        raise GeometryError("a sloped top may not reach below its edge")
    levels, last = levels_of_sections(sections), len(sections)
    walls = upright([section.polygon for section in sections])
    at = found_in(to_grid(walls.points[walls.level == last]), top.points)
    if (at < 0).any() or (top.heights[at] != edge_mm).any():
        raise GeometryError("the outline of a sloped top is not that of the walls below it")
    modeled = ModeledTop(top.points, top.heights - edge_mm, top.triangles, [])
    return with_tops(walls, [(last, modeled)]).at(levels)


def _refuse_touching(points: Ints) -> None:
    """Refuse contours that share a point, which would have two heights."""
    same = repeated_rows(points)
    if len(same):
        x, y = from_grid(same[0])
        raise GeometryError(f"contours of a sloped top touch near ({x:.2f}, {y:.2f}) mm")
