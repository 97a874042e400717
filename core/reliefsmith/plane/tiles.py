"""Local work on large shapes in tiles, so that its cost grows with the size and not faster.

The engine's offset of a shape of many rings takes more than linear time. What an offset does at one place
depends on what lies within its reach only, so a large shape is halved until its parts are small, every part
with a margin of that reach.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from .offset import grow, opened, shrink
from .pieces import as_multi, polygons_of

__all__ = ["Tile", "closed_fills", "opened_parts", "residue", "tiles"]

MOST_VERTICES = 1200
"""Parts with more vertices than this are halved; below, the engine's cost is linear enough."""

_MARGIN = 2.5
"""Margin of a tile in radii of an opening: its discs reach two, the corners of the cut half a one more."""


@dataclass(frozen=True, slots=True)
class Tile:
    """A part of a shape: the rectangle that it answers for, and the shape within that and a margin."""

    core: shapely.Polygon
    part: shapely.MultiPolygon


def tiles(shape: BaseGeometry, margin: float) -> Iterator[Tile]:
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
    yield from _halved(shape, shapely.box(*shape.bounds), margin)


def _halved(shape: BaseGeometry, core: shapely.Polygon, margin: float) -> Iterator[Tile]:
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


def opened_parts(shape: BaseGeometry, radius: float) -> list[shapely.Polygon]:
    """Return polygons, cut at tiles, whose union is the opening of a shape."""
    found: list[shapely.Polygon] = []
    for tile in tiles(shape, _MARGIN * radius):
        found += polygons_of(opened(tile.part, radius).intersection(tile.core))
    return found


def residue(shape: BaseGeometry, radius: float, smooth: float = 0.0) -> list[shapely.Polygon]:
    """Return what a disc cannot reach inside a shape, cut at tiles, each piece grown by `smooth`.

    Examples
    --------
    >>> bar = shapely.box(0, 0, 9, 0.5)
    >>> [round(piece.area, 6) for piece in residue(bar, 0.3)]
    [4.5]
    """
    found: list[shapely.Polygon] = []
    for tile in tiles(shape, _MARGIN * radius):
        left = tile.part.difference(opened(tile.part, radius)).intersection(tile.core)
        found += polygons_of(grow(left, smooth))
    return found


def closed_fills(shape: BaseGeometry, radius: float) -> list[shapely.Polygon]:
    """Return what a closing adds to a shape, cut at tiles."""
    found: list[shapely.Polygon] = []
    for tile in tiles(shape, _MARGIN * radius):
        added = shrink(grow(tile.part, radius), radius).difference(tile.part)
        found += polygons_of(added.intersection(tile.core))
    return found
