"""The foot: the first layer is laid a little smaller, because it is pressed wide on the bed.

The one place where that spread is taken back. Holes grow there by the same amount, boundaries between colors
stay where they are, and nothing small is lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..errors import GeometryError
from ..mesh import CUT_MM, touching_points
from ..model import Slab
from ..polygons import as_single, disc, faces_by_shape, from_grid, polygons_of, shrink, union_of_faces

__all__ = ["footed"]

KEPT_SHARE = 0.5
"""What would lose more than this of its first layer keeps its outline there: small pieces hold by it."""

_ROUNDS = 6


def footed(slabs: Sequence[Slab], first_mm: float, foot_mm: float) -> tuple[Slab, ...]:
    """Draw the first layer of a plate in by an amount, against its spread on the bed.

    A piece of the first layer that would vanish, break, or lose more than half of its area keeps its outline;
    so does a piece of one color. Only the outline of all colors together is drawn in.

    Parameters
    ----------
    slabs : sequence of Slab
        As printed. Slabs of one part stand on each other.
    first_mm : float
        Top of the first layer.
    foot_mm : float

    Raises
    ------
    GeometryError
        If rings of a first layer touch and cannot be parted.
    """
    lowest = [slab for slab in slabs if slab.bottom_mm == 0.0]
    outline = shapely.union_all([slab.polygon for slab in slabs if slab.bottom_mm <= first_mm])
    kept = [_drawn_in(piece, foot_mm) for piece in polygons_of(outline)]
    inside: shapely.Geometry = shapely.union_all([item for item in kept if not item.is_empty])
    small = [piece for slab in lowest for piece in polygons_of(slab.polygon) if _loses(piece, inside)]
    inside = shapely.union_all([inside, *small])
    for _ in range(_ROUNDS):
        table = _in_faces([slab.polygon for slab in slabs], inside)
        first = [table[index][1] for index, slab in enumerate(slabs) if slab.bottom_mm == 0.0]
        touching = np.concatenate([np.empty((0, 2), np.int64), *(touching_points(item) for item in first)])
        if len(touching) == 0:
            return tuple(
                part
                for slab, shapes in zip(slabs, table, strict=True)
                for part in _parted(slab, shapes, first_mm)
            )
        spots = [disc(x, y, CUT_MM) for x, y in from_grid(np.unique(touching, axis=0)).tolist()]
        inside = shapely.difference(inside, shapely.union_all(spots))
    x, y = from_grid(touching[0])
    raise GeometryError(
        f"the first layer cannot be drawn in near ({x:.2f}, {y:.2f}) mm; change heights.foot_mm a little"
    )


def _drawn_in(piece: shapely.Polygon, foot_mm: float) -> shapely.Geometry:
    """Return a piece drawn in, or as it is where it would vanish, break or lose much."""
    inner = shrink(piece, foot_mm)
    whole = len(polygons_of(inner)) == 1 and inner.area >= KEPT_SHARE * piece.area
    return inner if whole else piece


def _loses(piece: shapely.Polygon, inside: shapely.Geometry) -> bool:
    return bool(shapely.intersection(piece, inside).area < KEPT_SHARE * piece.area)


def _in_faces(
    shapes: Sequence[shapely.Geometry], inside: shapely.Geometry
) -> list[tuple[shapely.MultiPolygon, shapely.MultiPolygon]]:
    """Return each shape, and what of it lies inside, as unions of faces of one coverage of them all."""
    faces, (*table, within) = faces_by_shape([*shapes, inside])
    return [(union_of_faces(faces[own]), union_of_faces(faces[own & within])) for own in table]


def _parted(
    slab: Slab, shapes: tuple[shapely.MultiPolygon, shapely.MultiPolygon], first_mm: float
) -> list[Slab]:
    """Return a slab with the vertices of the foot, cut at the first layer's top if it lies on the bed."""
    whole, first = as_single(shapes[0]), as_single(shapes[1])
    if slab.bottom_mm > 0.0:
        return [replace(slab, polygon=whole)]
    if slab.top == first_mm:
        return [replace(slab, polygon=first)]
    return [replace(slab, polygon=first, top=first_mm), replace(slab, polygon=whole, bottom_mm=first_mm)]
