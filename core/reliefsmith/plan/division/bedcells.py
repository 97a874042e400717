"""Into which shapes a base is cut: by the lines of the recipe, or so that each shape fits the bed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from ...errors import GeometryError
from ...model.arrays import Area
from ...polygons import (
    GRID_MM,
    as_multi,
    faces_of,
    grow,
    inscribed,
    longest_neighbor,
    merged,
    noded_coverage,
    polygons_of,
    shared_lengths,
    shrink,
    union_of_faces,
    without,
)
from ...recipe.sections import CutLine
from .leastseam import cheapest_halves

__all__ = ["Room", "cells_for_bed", "cells_of_lines", "without_necks"]

MOST_CELLS = 60
"""More parts than this nobody puts together."""

CRUMB_MM = 6.0
"""A part in which no disc of this radius lies is too small to be handled by itself."""

_NO_LENGTH_MM = 1e-3  # a step of the grid: less is a touch
_ROUNDING_MM = 1e-6  # far below the grid


@dataclass(frozen=True, slots=True)
class Room:
    """How large the box round a part may be, in mm; parts are turned by quarters.

    Sides count in whole steps of the grid, on which all seams lie: a part that is to be just as large as the
    room then fits into it.

    Examples
    --------
    >>> room = Room(100.0004, 60.0)
    >>> room.holds(shapely.box(0, 0, 60, 100)), room.holds(shapely.box(0, 0, 100.001, 60))
    (True, False)
    """

    width: float
    depth: float

    def holds(self, shape: shapely.Geometry) -> bool:
        """Tell whether a shape fits, as it is or turned by a right angle."""
        return self.counts(shape)[:2] == (1, 1)

    def counts(self, shape: shapely.Geometry) -> tuple[int, int, tuple[float, float]]:
        """Return into how many columns and rows a shape must be cut, and how wide and high they may be."""
        x0, y0, x1, y1 = shape.bounds
        width, depth = (
            math.floor(side / GRID_MM + _ROUNDING_MM) * GRID_MM for side in (self.width, self.depth)
        )
        ways = []
        for sides in ((width, depth), (depth, width)):
            columns, rows = (
                max(1, math.ceil(length / side - _ROUNDING_MM))
                for length, side in zip((x1 - x0, y1 - y0), sides, strict=True)
            )
            ways.append((columns, rows, sides))
        return min(ways, key=lambda way: way[0] * way[1])


def cells_of_lines(base: Area, lines: Sequence[CutLine]) -> list[shapely.Polygon]:
    """Cut a base along lines.

    Raises
    ------
    GeometryError
        If a line misses the base, or cuts nothing off.
    """
    drawn = [shapely.LineString([line.from_mm, line.to_mm]) for line in lines]
    for number, line in enumerate(drawn, start=1):
        if shapely.length(shapely.intersection(line, base)) < _NO_LENGTH_MM:
            x0, y0, x1, y1 = base.bounds
            raise GeometryError(
                f"line {number} of seams.lines misses the piece, which lies between x {x0:.1f} and {x1:.1f},"
                f" y {y0:.1f} and {y1:.1f} mm; move it"
            )
    cells = _inside(base, drawn)
    for number in range(1, len(drawn) + 1):
        others = [line for index, line in enumerate(drawn, start=1) if index != number]
        if len(_inside(base, others)) == len(cells):
            raise GeometryError(
                f"line {number} of seams.lines cuts nothing off; let it begin and end beside the piece, or on"
                " another line"
            )
    return cells


def cells_for_bed(
    base: Area, colors: Sequence[shapely.Geometry], barred: shapely.Geometry, room: Room
) -> list[shapely.Polygon]:
    """Cut a base into few shapes that fit the bed, where that shows least.

    Shapes are halved in turn, each time by the cheapest seam in the band in which the number of shapes stays
    the least possible. What is too narrow to be a part of its own goes to its neighbor.

    Parameters
    ----------
    base : Polygon or MultiPolygon
    colors : sequence of geometries
    barred : geometry
        What no seam crosses.
    room : Room

    Raises
    ------
    GeometryError
        If too many parts were needed.
    """
    columns, rows, _ = room.counts(base)
    if columns * rows > MOST_CELLS:
        raise GeometryError(
            f"the piece would be cut into {columns * rows} parts, more than {MOST_CELLS}; print it smaller or"
            " set printer.bed_mm to a larger bed"
        )
    cells, waiting = [], polygons_of(base)
    while waiting:
        shape = waiting.pop()
        columns, rows, sides = room.counts(shape)
        if (columns, rows) == (1, 1):
            cells.append(shape)
            continue
        axis = 0 if columns >= rows else 1
        halves = cheapest_halves(shape, colors, barred, axis, _band(shape, axis, sides[axis]))
        waiting += [piece for half in halves for piece in polygons_of(half)]
    return _without_crumbs(_noded(cells), room)


def without_necks(cells: Sequence[shapely.Polygon], gap_mm: float) -> list[shapely.Polygon]:
    """Return cells in which none falls apart once cells before it take the gap from it.

    Parameters
    ----------
    cells : sequence of Polygon
        In the order of assembly.
    gap_mm : float
    """
    found: list[shapely.Polygon] = []
    for index, cell in enumerate(cells):
        near = [grow(one, gap_mm) for one in cells[:index] if shapely.dwithin(one, cell, gap_mm)]
        left = polygons_of(without(cell, merged(near)) if near else cell)
        pieces = [piece for piece in left if not shrink(piece, gap_mm).is_empty]
        if len(pieces) < 2:
            found.append(cell)
            continue
        grown = [shapely.intersection(grow(piece, 2 * gap_mm), cell) for piece in pieces]
        parts = noded_coverage([as_multi(item) for item in grown])
        found += [max(part.geoms, key=lambda piece: piece.area) for part in parts]
    return _noded(found) if len(found) > len(cells) else list(cells)


def _band(shape: shapely.Polygon, axis: int, side: float) -> tuple[float, float]:
    """Return where a shape is halved so that the number of shapes stays the least possible.

    Nearer to its ends than a crumb is wide a seam would only cut one off, such as the tip of a piece a bit
    longer than the bed; on a bed that takes hardly more than a crumb there is no other place.
    """
    low, high = shape.bounds[axis], shape.bounds[axis + 2]
    count = math.ceil((high - low) / side - _ROUNDING_MM)
    first, last = high - (count - 1) * side, low + side
    away = (max(first, low + 2 * CRUMB_MM), min(last, high - 2 * CRUMB_MM))
    return away if away[0] <= away[1] else (first, last)


def _inside(base: Area, lines: Sequence[shapely.Geometry]) -> list[shapely.Polygon]:
    """Return the shapes into which lines cut a base."""
    faces = faces_of([base, *lines])
    shapely.prepare(base)
    return list(faces[shapely.intersects(base, shapely.point_on_surface(faces))])


def _noded(cells: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
    """Return shapes with the vertices that their neighbors got later."""
    return _inside(shapely.union_all(cells), [shapely.boundary(cell) for cell in cells])


def _without_crumbs(cells: list[shapely.Polygon], room: Room) -> list[shapely.Polygon]:
    """Give what is narrower than a key to the neighbor with the longest seam, if it fits the bed then."""
    kept = sorted(cells, key=lambda cell: cell.area)
    index = 0
    while index < len(kept):
        neighbor = longest_neighbor(shared_lengths(kept), index)
        if neighbor is not None and inscribed(kept[index]).radius < CRUMB_MM:
            joined = union_of_faces([kept[index], kept[neighbor]])
            if len(joined.geoms) == 1 and room.holds(joined):
                kept[neighbor] = joined.geoms[0]
                del kept[index]
                continue
        index += 1
    return kept
