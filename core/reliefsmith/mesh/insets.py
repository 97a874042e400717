"""Contours of a sloped top: a shape drawn in step by step, of which only what can be printed is kept.

Mitered offsets of offsets follow the straight skeleton (Aichholzer et al. 1995,
https://doi.org/10.1007/978-3-642-80350-5_65), so a bevel of a polygon is plane along every edge. What becomes
narrower than a bead ends, and the top stays level there at the height that it has reached.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ..polygons import GRID_MM, as_multi, grow, inscribed, opened_area, polygons_of, shrink, snapped, to_grid
from .gridrings import found_in, rings_of
from .touching import touching_points

__all__ = ["ends_within", "insets", "refined", "room_for"]

SAMPLE_MM = 0.25
"""Spacing of vertices along strokes that end: less than a bead, so a slope at an end reaches no farther."""

_AROUND = 2
"""Samples that are kept before and after one that lies far from the inset."""

PLAIN_MM = 2 * GRID_MM
"""How far a contour may be simplified: two grid steps, a tenth of the closest contours' distance."""

_REACH = 2.2
"""A corner of 60 degrees lies twice the offset from the corner of its inset; what is farther is an end."""

_SPARE_MM = 0.01
"""Beyond half a bead, so that what just fits survives its own opening."""

_LOST_SHARE = 0.002
"""A contour may lose this share of its area to an opening by a bead: its corners."""


def room_for(piece: shapely.Polygon, offset_mm: float, bead_mm: float) -> float:
    """Return by how much a polygon can be drawn in, at most by an offset, and still hold a bead; or 0.

    Examples
    --------
    >>> room_for(shapely.box(0, 0, 9, 2), 0.4, 0.4)
    0.4
    >>> round(room_for(shapely.box(0, 0, 9, 1), 0.4, 0.4), 2)
    0.29
    """
    needed = bead_mm / 2 + _SPARE_MM
    plain = shapely.simplify(piece, PLAIN_MM)  # offsets of vertices a few um apart take very long
    if not shrink(plain, offset_mm + needed).is_empty:
        return offset_mm
    return max(0.0, inscribed(plain).radius - needed)


def insets(
    piece: shapely.Polygon, offsets_mm: Sequence[float], bead_mm: float
) -> tuple[shapely.MultiPolygon, ...]:
    """Return a polygon drawn in by rising offsets, as far as something wider than a bead is left.

    Parameters
    ----------
    piece : Polygon
        On the grid.
    offsets_mm : sequence of float
        From its edge, each at least some grid steps more than the one before.
    bead_mm : float
        0 keeps everything.

    Returns
    -------
    tuple of MultiPolygon
        On the grid, each within the one before, none touching; fewer than offsets where nothing is left.

    Examples
    --------
    >>> [shape.area for shape in insets(shapely.box(0, 0, 4, 3), (0.5, 1.0, 1.4), 0.4)]
    [6.0, 2.0]
    """
    found: list[shapely.MultiPolygon] = []
    last, reached = as_multi(piece), 0.0
    for offset in offsets_mm:
        inner = _inset(last, offset - reached, bead_mm)
        if inner.is_empty:
            break
        found.append(inner)
        last, reached = inner, offset
    return tuple(found)


def ends_within(outer: shapely.Geometry, inner: shapely.Geometry, offset_mm: float) -> bool:
    """Tell whether parts of a shape end on the way to its inset: strokes too narrow, tips too sharp.

    Examples
    --------
    >>> plate, tail = shapely.box(0, 0, 4, 4), shapely.box(4, 1.8, 10, 2.2)
    >>> ends_within(plate, shrink(plate, 0.5), 0.5)
    False
    >>> ends_within(plate | tail, shrink(plate | tail, 0.5), 0.5)
    True
    """
    samples = shapely.points(shapely.get_coordinates(shapely.segmentize(outer, SAMPLE_MM)))
    shapely.prepare(inner)
    return not bool(shapely.dwithin(inner, samples, _REACH * offset_mm).all())


def refined(outer: shapely.Geometry, inner: shapely.Geometry, offset_mm: float) -> shapely.Geometry:
    """Return a shape with more vertices along the edges that its inset does not follow.

    Triangles between the two stay short there, so that the slope at the end of a stroke does not run out
    into a long blade.

    Examples
    --------
    >>> plate = shapely.box(0, 0, 9, 1)
    >>> (wide,) = refined(plate, shrink(plate, 0.6), 0.6).geoms
    >>> len(plate.exterior.coords), len(wide.exterior.coords)
    (5, 81)
    """
    rings = np.asarray(polygons_of(outer), dtype=object)
    fine = shapely.segmentize(rings, SAMPLE_MM)
    kind, points, (ring_starts, polygon_starts) = shapely.to_ragged_array(fine)
    shapely.prepare(inner)
    far = ~shapely.dwithin(inner, shapely.points(points), _REACH * offset_mm)
    if not far.any():
        return outer
    own = found_in(to_grid(points), rings_of(outer).points) >= 0
    wide = np.convolve(far, np.ones(2 * _AROUND + 1), "same") > 0
    kept = own | wide
    starts = np.concatenate([[0], np.cumsum(np.add.reduceat(kept, ring_starts[:-1], dtype=np.int64))])
    whole = shapely.from_ragged_array(kind, snapped(points[kept]), (starts, polygon_starts))
    return as_multi(whole) if bool(shapely.is_valid(whole).all()) else outer


def _inset(shape: shapely.MultiPolygon, offset_mm: float, bead_mm: float) -> shapely.MultiPolygon:
    """Return a shape drawn in by one step; nothing where no kind of corner keeps it clear of its edge."""
    shapely.prepare(shape)
    plain = shapely.simplify(shape, PLAIN_MM)
    for corners in ("miter", "round"):
        inner = _on_grid(_printable(shrink(plain, offset_mm, corners), bead_mm))
        if inner.is_empty or _is_clear(shape, inner):
            return inner
    return shapely.MultiPolygon()


def _is_clear(outer: shapely.Geometry, inner: shapely.Geometry) -> bool:
    """Tell whether a contour lies within another without touching it or itself."""
    return bool(shapely.contains_properly(outer, inner)) and len(touching_points(inner)) == 0


def _on_grid(shape: shapely.Geometry) -> shapely.MultiPolygon:
    plain = shapely.set_precision(shapely.simplify(shape, PLAIN_MM), GRID_MM)
    return as_multi(shapely.transform(plain, snapped))


def _printable(shape: shapely.Geometry, bead_mm: float) -> shapely.MultiPolygon:
    """Return a shape without what is narrower than a bead; corners of 60 degrees and more stay sharp."""
    if bead_mm == 0:
        return as_multi(shape)
    kept = []
    for piece in polygons_of(shape):
        if opened_area(piece, bead_mm / 2) >= (1 - _LOST_SHARE) * piece.area:
            kept.append(piece)
        else:
            # Grown a little more than drawn in, it crosses the rim only where something ends.
            core = shrink(piece, bead_mm / 2)
            kept += polygons_of(shapely.intersection(piece, grow(core, bead_mm / 2 + _SPARE_MM, "miter")))
    return as_multi(kept)
