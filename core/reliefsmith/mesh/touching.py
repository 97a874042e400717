"""Shapes whose rings touch at a point are moved apart there, so that their solid stays closed.

Where two rings of one part meet at a point, the extruded walls share an edge four ways, and a reader that
merges equal vertices finds the solid open. A small octagon round such a point is taken from the motifs, or
from the base where the base touches itself; everything is noded again, so neighbors still share vertices.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Area, Ints
from ..polygons import (
    GRID_MM,
    as_multi,
    as_single,
    from_grid,
    noded_coverage,
    polygons_of,
    to_grid,
    union_of_faces,
)

__all__ = ["CUT_MM", "moved_apart", "touching_points"]

CUT_MM = 0.025
"""Radius of the octagon: a sixteenth of a usual nozzle, and 25 steps of the grid."""

_LEAST_PIECE_MM2 = 4 * CUT_MM**2
"""A crumb that the octagons leave between them goes with them."""

_ROUNDS = 6
_KEPT = 8
"""Bases with their motifs that are remembered: a changed height parts none again."""

Sections: TypeAlias = Callable[[shapely.Geometry, Sequence[shapely.MultiPolygon]], Sequence[shapely.Geometry]]
_SIMPLE_DEGREE = 2


def touching_points(shape: shapely.Geometry) -> Ints:
    """Return the points (n, 2), in grid steps, at which rings of a shape touch each other or themselves.

    Examples
    --------
    >>> touching_points(shapely.union(shapely.box(0, 0, 1, 1), shapely.box(1, 1, 2, 2))).tolist()
    [[1000, 1000]]
    >>> len(touching_points(shapely.box(0, 0, 1, 1)))
    0
    """
    outline = shapely.boundary(shape)
    if shapely.is_simple(outline):
        return np.empty((0, 2), dtype=np.int64)
    lines, owner = shapely.get_coordinates(shapely.get_parts(shapely.node(outline)), return_index=True)
    inside = owner[1:] == owner[:-1]
    points = to_grid(lines)
    ends = np.concatenate([points[:-1][inside], points[1:][inside]])
    unique, degree = np.unique(ends, axis=0, return_counts=True)
    touching: Ints = unique[degree > _SIMPLE_DEGREE]
    return touching


def moved_apart(
    base: Area,
    motifs: Sequence[shapely.MultiPolygon],
    *,
    sections: Sections | None = None,
) -> tuple[Area, tuple[shapely.MultiPolygon, ...]]:
    """Cut base and motifs back by `CUT_MM` where rings of one solid touch.

    Parameters
    ----------
    base : Polygon or MultiPolygon
    motifs : sequence of MultiPolygon
        Inside the base, a valid coverage, all on the grid.
    sections : callable, optional
        Returns from base and motifs the further shapes that solids have at some height; each motif by itself
        unless given. Where one of them touches itself the motifs give way to the base.

    Returns
    -------
    base, motifs
        As they are where nothing touches.

    Raises
    ------
    GeometryError
        If rings still touch after a few rounds.

    Examples
    --------
    >>> corners = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(1, 1, 2, 2)])
    >>> plate, (apart,) = moved_apart(shapely.box(-1, -1, 3, 3), [corners])
    >>> len(touching_points([corners])), len(touching_points([apart]))
    (1, 0)
    """
    return _apart(base, tuple(motifs), sections)


@lru_cache(maxsize=_KEPT)
def _apart(
    base: Area,
    parted: tuple[shapely.MultiPolygon, ...],
    sections: Sections | None,
) -> tuple[Area, tuple[shapely.MultiPolygon, ...]]:
    for _ in range(_ROUNDS):
        at_base = touching_points(base)
        shapes = parted if sections is None else sections(base, parted)
        at_motifs = np.concatenate([np.empty((0, 2), np.int64), *(touching_points(item) for item in shapes)])
        if len(at_base) == 0 and len(at_motifs) == 0:
            return base, parted
        base, parted = _cut(base, parted, _octagons(at_base), _octagons(at_motifs))
    x, y = from_grid(np.concatenate([at_base, at_motifs])[0])
    raise GeometryError(f"two edges of one part cannot be parted near ({x:.2f}, {y:.2f}) mm; smooth it")


def _cut(
    base: shapely.Geometry,
    motifs: tuple[shapely.MultiPolygon, ...],
    from_base: shapely.Geometry,
    from_motifs: shapely.Geometry,
) -> tuple[Area, tuple[shapely.MultiPolygon, ...]]:
    onto_base = as_multi(shapely.intersection(from_motifs, base))
    _, *kept = noded_coverage([as_multi(from_base), onto_base, *motifs, as_multi(base)])
    whole = as_single(_without_crumbs(union_of_faces(kept)))
    return whole, tuple(_without_crumbs(item) for item in kept[1:-1])


def _without_crumbs(shape: shapely.Geometry) -> shapely.MultiPolygon:
    return as_multi([piece for piece in polygons_of(shape) if piece.area > _LEAST_PIECE_MM2])


def _octagons(centers: Ints) -> shapely.Geometry:
    if len(centers) == 0:
        return shapely.MultiPolygon()
    turns = [math.pi * (2 * k + 1) / 8 for k in range(8)]
    corners = np.array([(math.cos(turn), math.sin(turn)) for turn in turns]) * (CUT_MM / GRID_MM)
    rings = from_grid(np.rint(centers[:, None, :] + corners).astype(np.int64))
    return as_multi(shapely.union_all(shapely.polygons(rings)))
