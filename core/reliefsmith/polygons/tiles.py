"""Local work on large shapes in tiles, so that its cost grows with the size and not faster.

The engine's offset of a shape of many rings takes more than linear time. What an offset does at one place
depends on what lies within its reach only, so a large shape is halved until its parts are small, every part
with a margin of that reach.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from .grid import GRID_MM
from .offset import closed, grow, opened, shrink
from .pieces import as_multi, polygons_of

__all__ = [
    "PROTRUDING_MM",
    "Tile",
    "closed_fills",
    "near",
    "opened_area",
    "opened_parts",
    "protrusions",
    "recesses",
    "residue",
    "tiles",
]

MOST_VERTICES = 4000
"""Parts with more vertices than this are halved; below, the engine's cost is linear enough, and one offset
of a part and back takes some ten milliseconds."""

PROTRUDING_MM = 0.01
"""What reaches less than this beyond an opening is a rounded corner or its chords: nothing to look at."""

_MARGIN = 2.5
"""Margin of a tile in radii of an opening: its discs reach two, the corners of the cut half a one more."""

_KEPT = 4096
"""Pieces of which it is remembered what a disc can reach: those of many layers, and of a batch of texts."""


@dataclass(frozen=True, slots=True)
class Tile:
    """A part of a shape: the rectangle that it answers for, and the shape within that and a margin."""

    core: shapely.Polygon
    part: shapely.MultiPolygon
    is_whole: bool = False

    def own(self, geometry: shapely.Geometry) -> shapely.Geometry:
        """Return what of a geometry made from this part lies in the rectangle that the tile answers for."""
        return geometry if self.is_whole else geometry.intersection(self.core)


def tiles(shape: shapely.Geometry, margin: float) -> Iterator[Tile]:
    """Yield a shape in parts of at most `MOST_VERTICES`, left to right and bottom to top.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    margin : float
        How far a part reaches beyond its rectangle, in mm. Rectangles smaller than twice this are not halved.

    Examples
    --------
    >>> [tile.part.area for tile in tiles(shapely.box(0, 0, 2, 1), 0.5)]
    [2.0]
    """
    if shape.is_empty:
        return
    if shapely.get_num_coordinates(shape) <= MOST_VERTICES:
        yield Tile(shapely.box(*shape.bounds), as_multi(shape), is_whole=True)
        return
    yield from _halved(shape, shapely.box(*shape.bounds), margin)


def _halved(shape: shapely.Geometry, core: shapely.Polygon, margin: float) -> Iterator[Tile]:
    left, low, right, high = core.bounds
    wide = right - left >= high - low
    if shapely.get_num_coordinates(shape) <= MOST_VERTICES or max(right - left, high - low) < 4 * margin:
        yield Tile(core, as_multi(shape))
        return
    middle = (left + right) / 2 if wide else (low + high) / 2
    halves = (
        (shapely.box(left, low, middle, high), shapely.box(middle, low, right, high))
        if wide
        else (shapely.box(left, low, right, middle), shapely.box(left, middle, right, high))
    )
    for half in halves:
        near = half.buffer(margin, join_style="mitre")
        part = as_multi(shape.intersection(near))
        if not part.is_empty:
            yield from _halved(part, half, margin)


def near(shape: shapely.Geometry, zone: shapely.Geometry, margin: float) -> shapely.MultiPolygon:
    """Return what of a shape lies within the boxes round the pieces of a zone, each grown by a margin.

    Examples
    --------
    >>> near(shapely.box(0, 0, 100, 1), shapely.Point(50, 0).buffer(1), 2).bounds
    (47.0, 0.0, 53.0, 1.0)
    """
    bounds = shapely.bounds(shapely.get_parts(zone)) + np.array([-margin, -margin, margin, margin])
    return as_multi(shape.intersection(shapely.union_all(shapely.box(*bounds.T))))


def opened_parts(shape: shapely.Geometry, radius: float) -> list[shapely.Polygon]:
    """Return polygons, cut at tiles, whose union is the opening of a shape.

    Examples
    --------
    >>> spoon = shapely.box(0, 0, 4, 4) | shapely.box(4, 1.8, 10, 2.2)
    >>> [round(part.bounds[2], 2) for part in opened_parts(spoon, 0.5)]
    [4.04]
    """
    return _tiled(shape, radius, lambda part: opened(part, radius))


def opened_area(shape: shapely.Geometry, radius: float) -> float:
    """Return the area that a disc can reach inside a shape, whose pieces are remembered one by one.

    Most pieces of a drawing are in many of the shapes that are looked at: other layers, other texts.

    Examples
    --------
    >>> spoon = shapely.box(0, 0, 4, 4) | shapely.box(4, 1.8, 10, 2.2)
    >>> round(opened_area(spoon, 0.5), 1)
    15.8
    """
    return math.fsum(_opened_area(piece, radius) for piece in polygons_of(shape))


@lru_cache(maxsize=_KEPT)
def _opened_area(piece: shapely.Polygon, radius: float) -> float:
    return math.fsum(part.area for part in opened_parts(piece, radius))


def residue(shape: shapely.Geometry, radius: float) -> list[shapely.Polygon]:
    """Return what of a shape lies more than `PROTRUDING_MM` beyond a disc that rolls inside it, by tiles.

    Examples
    --------
    >>> bar = shapely.box(0, 0, 9, 0.5)
    >>> [round(piece.area, 6) for piece in residue(bar, 0.3)]
    [4.5]
    """
    return _tiled(shape, radius, lambda part: protrusions(part, radius))


def recesses(shape: shapely.Geometry, radius: float) -> list[shapely.Polygon]:
    """Return what a closing adds to a shape beyond `PROTRUDING_MM` of a disc that rolls outside, by tiles.

    Found as `protrusions` are, from the other side.

    Examples
    --------
    >>> slotted = shapely.box(0, 0, 10, 4) - shapely.box(4.8, 1, 5.2, 4)
    >>> [round(fill.area, 2) for fill in recesses(slotted, 0.5)]
    [1.18]
    """
    return _tiled(
        shape, radius, lambda part: shrink(grow(part, radius), radius + PROTRUDING_MM).difference(part)
    )


def protrusions(shape: shapely.Geometry, radius: float) -> shapely.MultiPolygon:
    """Return what of a shape lies more than `PROTRUDING_MM` beyond what a disc can reach inside it.

    Notes
    -----
    The rims of a shape and of its opening coincide nearly everywhere, which makes their difference slow and
    full of slivers; the rim of the opening grown a little crosses the shape only where something sticks out,
    and the difference takes a seventh of the time.

    Examples
    --------
    >>> bar = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.9, 9, 2.1))
    >>> [round(piece.bounds[2], 6) for piece in protrusions(bar, 0.3).geoms if piece.area > 0.1]
    [9.0]
    """
    return as_multi(shape.difference(grow(shrink(shape, radius), radius + PROTRUDING_MM)))


def closed_fills(shape: shapely.Geometry, radius: float) -> list[shapely.Polygon]:
    """Return what a closing adds to a shape, cut at tiles.

    Examples
    --------
    >>> slotted = shapely.box(0, 0, 10, 4) - shapely.box(4.8, 1, 5.2, 4)
    >>> [round(fill.area, 2) for fill in closed_fills(slotted, 0.5)]
    [1.19]
    """
    return _tiled(shape, radius, lambda part: _without(closed(part, radius), part))


def _tiled(
    shape: shapely.Geometry, radius: float, made: Callable[[shapely.MultiPolygon], shapely.Geometry]
) -> list[shapely.Polygon]:
    """Return the polygons that an opening or closing makes of each tile of a shape, as far as its own."""
    found: list[shapely.Polygon] = []
    for tile in tiles(shape, _MARGIN * radius):
        found += polygons_of(tile.own(made(tile.part)))
    return found


def _without(shape: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Return a difference, on the grid where lines that run nearly into each other fail in doubles."""
    try:
        return shape.difference(other)
    except shapely.GEOSException:
        return shapely.difference(shape, other, grid_size=GRID_MM)
