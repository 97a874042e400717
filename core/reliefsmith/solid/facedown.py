"""Flush motifs face down: the front lies on the bed, the base is printed over it.

The first layer belongs to the motifs' side. With one filament every color is a print of its own onto the same
bed, one layer high, so that the nozzle never meets plastic higher than where it lays; the base comes last,
round the motifs and over them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ..findings import Note, note
from ..mesh import moved_apart
from ..model import ColorChange, Motif, Plan, Slab
from ..model.arrays import Area
from ..model.plan import in_shapes
from ..polygons import as_multi, grow
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings, PrinterSettings
from .layergrid import LayerGrid
from .levels import Levels, bare_base, changes_at, motif_slabs, snapped_note
from .sharedrings import parted, registered, rest_of

__all__ = ["JOB_CLEARANCE_MM", "flush_down_steps"]

JOB_CLEARANCE_MM = 0.1
"""Left free between colors that are printed one after another: a press fit, which spreading lines close.

It is taken here alone, from what is printed later, so earlier colors keep their size."""


def flush_down_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, printer: PrinterSettings
) -> Steps[Levels]:
    """Lay motifs on the bed and the base round and over them.

    The whole is `heights.base_mm` high, motifs are `heights.motif_mm` deep, each to the nearest whole layer
    counted from the bed (a tie goes up); one layer of base at least lies over them. With one filament loaded
    motifs are the first layer only, each color a print of its own, small ones first.
    """
    yield Progress("laying motifs on the bed", 0.2)
    total = max(grid.nearest(heights.base_mm), 2 if plan.motifs else 1)
    top = grid.top_mm(total)
    if not plan.motifs:
        return bare_base(plan, grid, heights.base_mm, total)
    by_jobs = printer.filaments == 1
    depth = 1 if by_jobs else min(grid.nearest(heights.motif_mm), total - 1)
    base, motifs, rest = _fitted(plan) if by_jobs else _touching(plan)
    floor = grid.top_mm(depth)
    slabs = [Slab("base", "base", plan.base_color, rest, 0.0, floor)] if not rest.is_empty else []
    slabs.append(Slab("base", "base", plan.base_color, base, floor, top))
    slabs += motif_slabs(motifs, 0.0, floor)
    asked = [("base", heights.base_mm, top), ("depth", heights.motif_mm, floor)]
    order = sorted(motifs, key=lambda item: item.polygon.area) if by_jobs else motifs
    begun = 0 if not rest.is_empty else depth
    last = ColorChange(begun + 1, grid.top_mm(begun), plan.base_color)
    levels = Levels(
        tuple(slabs),
        total,
        (*changes_at(order[1:], 0, grid), last),
        not by_jobs and rest.is_empty and len(motifs) == 1,
        snapped_note(asked),
    )
    if not by_jobs:
        return levels
    jobs = tuple((slab.part,) for item in order for slab in slabs if slab.color == item.color)
    return replace(levels, jobs=(*jobs, ("base",)), notes=(*levels.notes, _jobs_note(len(jobs) + 1)))


def _touching(plan: Plan) -> tuple[Area, tuple[Motif, ...], shapely.MultiPolygon]:
    """Return base, motifs, and the base round them, where all touch."""
    base, motifs = parted(plan)
    return base, motifs, rest_of(base, [item.polygon for item in motifs])


def _fitted(plan: Plan) -> tuple[Area, tuple[Motif, ...], shapely.MultiPolygon]:
    """Return base, motifs, and the base round them, with the clearance between all of them."""
    order = sorted(range(len(plan.motifs)), key=lambda index: plan.motifs[index].polygon.area)
    shapes = [as_multi(item.polygon) for item in plan.motifs]
    for position, index in enumerate(order[1:], start=1):
        before = shapely.union_all([shapes[item] for item in order[:position]])
        if shapely.distance(before, shapes[index]) < JOB_CLEARANCE_MM:
            shapes[index] = as_multi(shapely.difference(shapes[index], grow(before, JOB_CLEARANCE_MM)))
    gap = grow(shapely.union_all([item.polygon for item in plan.motifs]), JOB_CLEARANCE_MM)
    base, noded = registered([*shapes, as_multi(shapely.intersection(gap, plan.base))], plan.base)
    base, apart = moved_apart(base, noded, sections=_without_gap)
    return base, in_shapes(plan.motifs, apart[:-1]), rest_of(base, apart)


def _without_gap(base: shapely.Geometry, motifs: Sequence[shapely.MultiPolygon]) -> list[shapely.Geometry]:
    """Return the solids' sections; the gap, which comes last, is none."""
    return [*motifs[:-1], rest_of(base, motifs)]


def _jobs_note(count: int) -> Note:
    words = (
        f"{count} prints onto the same bed, one for each color: motifs are one layer high, and"
        f" {JOB_CLEARANCE_MM:g} mm are left free round what was printed before."
    )
    return note("printed-in-turn", words)
