"""Hand relief on generated tops: every top that can be seen is higher or lower by what the hand did there.

What something stands on stays level, and at least two layers of a part stay below every carved place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Note, finding, note
from ..mesh import plain_heights, section_difference
from ..model import Field, HandRelief, Sculpted, Slab
from ..polygons import as_multi, faces_of, polygons_of, union_of_faces
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings
from .layergrid import LayerGrid
from .levels import Levels

__all__ = ["CARVED_LAYERS", "ground_of", "in_one_coverage", "sculpted_steps"]

CARVED_LAYERS = 2
"""Layers of a part that carving leaves: one may show what is below."""

FINEST_MM, COARSEST_MM = 0.1, 0.2
"""Between these lie the points of a sculpted top: a quarter and a half of a usual bead."""

WORK_MM = 0.001
"""Less than this is no work of a hand: one step of written heights."""

_SAME_MM = 1e-6
_LEAST_SHARE = 0.001  # of work without ground that is worth a word

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Grid:
    """Nodes of the lattice through the origin round a shape, and the relief there or NaN."""

    columns: npt.NDArray[np.int64]
    rows: npt.NDArray[np.int64]
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
    faces = faces_of([slab.polygon for slab in slabs])
    spots = shapely.point_on_surface(faces)
    found = []
    for slab in slabs:
        shapely.prepare(slab.polygon)
        whole = union_of_faces(faces[shapely.intersects(slab.polygon, spots)])
        pieces = polygons_of(whole)
        found.append(replace(slab, polygon=pieces[0] if len(pieces) == 1 else whole))
    return tuple(found)


def sculpted_steps(
    levels: Levels,
    grid: LayerGrid,
    heights: HeightSettings,
    hand: HandRelief,
    width_mm: float,
) -> Steps[Levels]:
    """Put hand relief on the tops of levels that are printed face up.

    Parameters
    ----------
    levels : Levels
        Their polygons in one coverage (`in_one_coverage`), their tops as generated.
    grid : LayerGrid
    heights : HeightSettings
    hand : HandRelief
    width_mm : float
        Of the artwork.
    """
    step = min(max(round(hand.step * width_mm, 3), FINEST_MM), COARSEST_MM)
    slabs, grounds, limited = [], [], 0.0
    for number, slab in enumerate(levels.slabs):
        yield Progress(f"sculpting {slab.part}", 0.5 + 0.4 * number / len(levels.slabs))
        ground = ground_of(slab, levels.slabs)
        grounds.append(ground)
        found, held_back = _sculpted(slab, ground, _nodes(slab, hand, width_mm, step, heights), grid)
        slabs.append(found)
        limited += held_back
    highest = max(slab.highest_mm for slab in slabs)
    count = levels.layers
    while 2 * highest > grid.top_mm(count) + grid.top_mm(count + 1):
        count += 1
    while count > 1 and 2 * highest <= grid.top_mm(count - 1) + grid.top_mm(count):
        count -= 1
    return replace(
        levels,
        slabs=tuple(slabs),
        layers=count,
        by_height=levels.by_height and _one_color_a_layer(slabs, grid, count),
        notes=(*levels.notes, *_limited(limited, grid)),
        findings=(*levels.findings, *_lost(hand, width_mm, grounds)),
    )


def ground_of(slab: Slab, slabs: Sequence[Slab]) -> shapely.MultiPolygon:
    """Return where the top of a slab can be seen: nothing stands on it."""
    top = slab.plain_top
    if not isinstance(top, float):
        return as_multi(slab.polygon)
    standing = [item.polygon for item in slabs if abs(item.bottom_mm - top) < _SAME_MM]
    if not standing:
        return as_multi(slab.polygon)
    return section_difference(slab.polygon, union_of_faces(standing))


def _nodes(slab: Slab, hand: HandRelief, width_mm: float, step_mm: float, heights: HeightSettings) -> _Grid:
    """Return the relief on the lattice round a slab; within their own layers inlaid tops are only carved."""
    x0, y0, x1, y1 = slab.polygon.bounds
    columns = np.arange(math.floor(x0 / step_mm) - 1, math.ceil(x1 / step_mm) + 2)
    rows = np.arange(math.floor(y0 / step_mm) - 1, math.ceil(y1 / step_mm) + 2)
    places = _Grid(columns, rows, step_mm, np.empty((0, 0))).places
    values = hand.sampled(places, width_mm).reshape(len(rows), len(columns))
    if heights.hand_reach == "within" and heights.style in ("flush", "sunk"):
        values = np.minimum(values, 0.0)
    return _Grid(columns, rows, step_mm, values)


def _sculpted(slab: Slab, ground: shapely.MultiPolygon, nodes: _Grid, grid: LayerGrid) -> tuple[Slab, float]:
    """Return a slab with the relief on its ground, and the area in mm2 where two layers held it back."""
    near, inside = np.zeros((2, *nodes.values.shape), dtype=bool)
    worked = []
    for piece in polygons_of(ground):
        wide, own = _around(piece, nodes)
        if (np.abs(nodes.values[wide]) >= WORK_MM).any():
            worked.append(piece)
            near |= wide
            inside |= own
    if not worked:
        return slab, 0.0
    nodes = replace(nodes, values=_carried_on(nodes.values, inside))
    bottom = slab.bottom_mm
    floor = grid.top_mm(CARVED_LAYERS) if bottom == 0 else bottom + grid.layers_mm(CARVED_LAYERS)
    floor = round(floor, 6)
    plain = plain_heights(slab.plain_top)(nodes.places[near.reshape(-1)])
    asked = plain + nodes.values[near]
    made = np.maximum(asked, np.minimum(plain, floor))
    free = union_of_faces(worked)
    rim = min(slab.rim_mm, float((slab.rim_mm + nodes.values[near]).clip(min=floor).min()))
    lowest = round(min(float(made.min()), rim), 3)
    highest = round(max(float(made.max()), slab.highest_mm if free.area < slab.polygon.area else 0.0), 3)
    top = Sculpted(slab.plain_top, nodes.field, free, floor, lowest, highest)
    return replace(slab, top=top), float((made - asked > WORK_MM).sum()) * nodes.step_mm**2


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
    wide = shapely.buffer(piece, 1.5 * step, quad_segs=2)
    shapely.prepare(wide)
    x, y = np.meshgrid(nodes.columns[column] * step, nodes.rows[row] * step)
    found[window] = shapely.contains_xy(wide, x, y)
    shapely.prepare(piece)
    inside[window] = shapely.contains_xy(piece, x, y)
    return found, inside


def _one_color_a_layer(slabs: Sequence[Slab], grid: LayerGrid, count: int) -> bool:
    middles = [(grid.top_mm(layer) + grid.top_mm(layer + 1)) / 2 for layer in range(count)]
    return all(
        len({slab.color for slab in slabs if slab.bottom_mm < middle < slab.highest_mm}) <= 1
        for middle in middles
    )


def _limited(area_mm2: float, grid: LayerGrid) -> tuple[Note, ...]:
    if area_mm2 == 0:
        return ()
    words = (
        f"Hand relief was carved less deep over {area_mm2:.1f} mm2, so that {CARVED_LAYERS} layers"
        f" ({grid.layers_mm(CARVED_LAYERS):g} mm) of each part stay."
    )
    return (note("hand-limited", words),)


def _lost(hand: HandRelief, width_mm: float, grounds: Sequence[BaseGeometry]) -> tuple[Finding, ...]:
    """Say which share of the work has no ground: it lies beside the piece or under what stands there."""
    row, column = np.nonzero(np.abs(np.nan_to_num(hand.values)) >= WORK_MM)
    if len(row) == 0:
        return ()
    step = hand.step * width_mm
    x = hand.origin[0] * width_mm + column * step
    y = hand.origin[1] * width_mm - row * step
    on_ground = np.zeros(len(row), dtype=bool)
    for ground in grounds:
        if ground.is_empty:
            continue
        wide = shapely.buffer(ground, step / 2, quad_segs=2)  # a value reaches half a step about its place
        shapely.prepare(wide)
        rest = np.flatnonzero(~on_ground)
        on_ground[rest] = shapely.contains_xy(wide, x[rest], y[rest])
    lost = 1.0 - float(on_ground.mean())
    if lost < _LEAST_SHARE:
        return ()
    first = int(np.flatnonzero(~on_ground)[0])
    words = f"Hand relief: kept {1 - lost:.1%}, {lost:.1%} lost its ground: no top can be seen there."
    return (finding("hand-off", words, (round(float(x[first]), 2), round(float(y[first]), 2), 0.0)),)
