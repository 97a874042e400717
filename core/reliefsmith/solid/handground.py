"""The ground of hand relief, seen from above: where tops can be seen, and the relief on the nodes there.

All of it is remembered: another height changes none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from ..mesh import section_difference
from ..model import Field, HandRelief, Slab
from ..model.arrays import Area, Flags, Floats, Ints
from ..polygons import as_multi, as_single, faces_by_shape, lattice, nodes_within, polygons_of, union_of_faces
from .layergrid import SAME_MM

__all__ = ["WORK_MM", "Work", "ground_of", "in_one_coverage", "off_ground", "work_on"]

WORK_MM = 0.001
"""Less than this is no work of a hand: one step of written heights."""

_KEPT = 16
"""Grounds that are remembered, of two pieces and more."""


@dataclass(frozen=True, slots=True)
class Work:
    """The relief on one ground, at whatever height that lies.

    Parameters
    ----------
    field : Field
    free : MultiPolygon
        The pieces of the ground that were sculpted.
    places : float64 array of shape (n, 2)
        Nodes of the field that count: those on the pieces, and round them.
    values : float64 array of shape (n,)
        The relief there.
    """

    field: Field
    free: shapely.MultiPolygon
    places: Floats
    values: Floats


@dataclass(frozen=True, slots=True)
class _Grid:
    """Nodes of the lattice through the origin round a shape, and the relief there or NaN."""

    columns: Ints
    rows: Ints
    step_mm: float
    values: Floats

    @property
    def places(self) -> Floats:
        """Places (n, 2) in mm, row by row."""
        x, y = np.meshgrid(self.columns * self.step_mm, self.rows * self.step_mm)
        return np.column_stack([x.reshape(-1), y.reshape(-1)])

    @property
    def field(self) -> Field:
        """The relief as a field."""
        origin = (float(self.columns[0]) * self.step_mm, float(self.rows[0]) * self.step_mm)
        return Field(self.values.astype(np.float32), origin, self.step_mm)


def in_one_coverage(slabs: Sequence[Slab]) -> tuple[Slab, ...]:
    """Return slabs with shared vertices wherever their boundaries meet, at whatever heights."""
    polygons = _one_coverage(tuple(slab.polygon for slab in slabs))
    return tuple(replace(slab, polygon=polygon) for slab, polygon in zip(slabs, polygons, strict=True))


@lru_cache(maxsize=_KEPT)
def _one_coverage(polygons: tuple[Area, ...]) -> tuple[Area, ...]:
    faces, inside = faces_by_shape(polygons)
    return tuple(as_single(union_of_faces(faces[own])) for own in inside)


def ground_of(slab: Slab, slabs: Sequence[Slab]) -> shapely.MultiPolygon:
    """Return where the top of a slab can be seen: nothing stands on it."""
    top = slab.plain_top
    if not isinstance(top, float):
        return as_multi(slab.polygon)
    standing = tuple(item.polygon for item in slabs if abs(item.bottom_mm - top) < SAME_MM)
    return _beside(slab.polygon, standing) if standing else as_multi(slab.polygon)


@lru_cache(maxsize=_KEPT)
def _beside(polygon: Area, standing: tuple[Area, ...]) -> shapely.MultiPolygon:
    return section_difference(polygon, union_of_faces(standing))


@lru_cache(maxsize=_KEPT)
def work_on(
    shape: Area,
    ground: shapely.MultiPolygon,
    hand: HandRelief,
    width_mm: float,
    step_mm: float,
    *,
    carved_only: bool,
) -> Work | None:
    """Return the relief on the ground of a shape, or None where there is none."""
    nodes = _nodes(shape, step_mm)
    values = hand.sampled(nodes.places, width_mm).reshape(nodes.values.shape)
    nodes = replace(nodes, values=np.minimum(values, 0.0) if carved_only else values)
    near, inside = np.zeros((2, *nodes.values.shape), dtype=bool)
    worked = []
    for piece in polygons_of(ground):
        wide, own = _around(piece, nodes)
        if (np.abs(nodes.values[wide]) >= WORK_MM).any():
            worked.append(piece)
            near |= wide
            inside |= own
    if not worked:
        return None
    nodes = replace(nodes, values=_carried_on(nodes.values, inside))
    return Work(nodes.field, union_of_faces(worked), nodes.places[near.reshape(-1)], nodes.values[near])


def _nodes(shape: Area, step_mm: float) -> _Grid:
    """Return the lattice round a shape."""
    columns, rows = lattice(shape, step_mm)
    return _Grid(columns, rows, step_mm, np.zeros((len(rows), len(columns))))


@lru_cache(maxsize=_KEPT)
def off_ground(
    hand: HandRelief, width_mm: float, grounds: tuple[shapely.Geometry, ...]
) -> tuple[float, tuple[float, float]]:
    """Return which share of the work of a hand lies on no ground, and the first place of it in mm."""
    row, column = np.nonzero(np.abs(np.nan_to_num(hand.values)) >= WORK_MM)
    step = hand.step * width_mm
    x = hand.origin[0] * width_mm + column * step
    y = hand.origin[1] * width_mm - row * step
    off = np.ones(len(row), dtype=bool)
    for ground in grounds:
        if ground.is_empty:
            continue
        wide = shapely.buffer(ground, step / 2, quad_segs=2)  # a value reaches half a step about its place
        shapely.prepare(wide)
        rest = np.flatnonzero(off)
        off[rest] = ~shapely.contains_xy(wide, x[rest], y[rest])
    if not off.any():
        return 0.0, (0.0, 0.0)
    first = int(off.argmax())
    return float(off.mean()), (round(float(x[first]), 2), round(float(y[first]), 2))


def _carried_on(values: Floats, inside: Flags) -> Floats:
    """Return values that go on beside the ground as at its edge, so that a top ends as high as it is there.

    On the ground itself the relief is 0 where it does not hold.
    """
    found = np.where(inside & np.isnan(values), 0.0, values)
    for _ in range(2):
        known = np.pad(~np.isnan(found), 1).astype(np.float64)
        level = np.pad(np.nan_to_num(found), 1)
        rows, columns = found.shape
        windows = [(slice(i, i + rows), slice(k, k + columns)) for i in range(3) for k in range(3)]
        count = np.sum([known[window] for window in windows], axis=0)
        total = np.sum([level[window] for window in windows], axis=0)
        unknown = np.isnan(found) & (count > 0)
        found[unknown] = total[unknown] / count[unknown]
    return np.nan_to_num(found)


def _around(piece: shapely.Polygon, nodes: _Grid) -> tuple[Flags, Flags]:
    """Return which nodes lie in a piece or have part of it in a cell of theirs, and which lie in it.

    None, where nothing was sculpted as near as its bounds.
    """
    found, inside = np.zeros((2, *nodes.values.shape), dtype=bool)
    x0, y0, x1, y1 = piece.bounds
    step = nodes.step_mm
    column = np.flatnonzero((nodes.columns * step >= x0 - step) & (nodes.columns * step <= x1 + step))
    row = np.flatnonzero((nodes.rows * step >= y0 - step) & (nodes.rows * step <= y1 + step))
    window = np.ix_(row, column)
    if not (np.abs(nodes.values[window]) >= WORK_MM).any():
        return found, inside
    x, y = nodes.columns[column] * step, nodes.rows[row] * step
    found[window] = nodes_within(shapely.buffer(piece, 1.5 * step, quad_segs=2), x, y)
    inside[window] = nodes_within(piece, x, y)
    return found, inside
