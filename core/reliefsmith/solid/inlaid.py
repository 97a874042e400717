"""Flush and sunk: motifs lie in pockets of the base, level with its top or below it."""

from __future__ import annotations

from ..errors import GeometryError
from ..model import Plan, Slab
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings, PrinterSettings
from .layergrid import LayerGrid
from .levels import Levels, bare_base, changes_at, motif_slabs, snapped_note
from .sharedrings import parted, rest_of

__all__ = ["flush_steps", "sunk_steps"]

FLOOR_MM = 0.4
"""Height of the color on the floor of a sunk motif: two usual layers; what is deeper down is not seen."""


def flush_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, _printer: PrinterSettings
) -> Steps[Levels]:
    """Lay motifs into the top of the base.

    The whole is `heights.base_mm` high, motifs are `heights.motif_mm` deep, each to the nearest whole layer
    (a tie goes up); one layer of base stays below. The filament changes in every layer that motifs share with
    the base.
    """
    total = max(grid.nearest(heights.base_mm), 2)
    depth = min(max(grid.count(heights.motif_mm), 1), total - 1)
    return (yield from _inlaid_steps(plan, grid, heights, (total - depth, total, total)))


def sunk_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, _printer: PrinterSettings
) -> Steps[Levels]:
    """Sink motifs below the top of the base, their color on the floor of the pockets.

    The whole is `heights.base_mm` high, pockets are `heights.motif_mm` deep, the color on their floor is
    0.4 mm or one layer, each to the nearest whole layer (a tie goes up).

    Raises
    ------
    GeometryError
        If that leaves no layer of base below the motifs.
    """
    total = grid.nearest(heights.base_mm)
    depth, floor = max(grid.count(heights.motif_mm), 1), max(grid.count(FLOOR_MM), 1)
    if plan.motifs and total - depth - floor < 1:
        raise GeometryError(
            f"heights.base_mm {heights.base_mm:g} is too low for motifs sunk by {heights.motif_mm:g} mm on a"
            f" floor of {grid.layers_mm(floor):g} mm; raise it or lower heights.motif_mm"
        )
    return (yield from _inlaid_steps(plan, grid, heights, (total - depth - floor, total - depth, total)))


def _inlaid_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, layers: tuple[int, int, int]
) -> Steps[Levels]:
    """Put motifs between the first and second of three layers, the base round them up to the third."""
    yield Progress("cutting pockets", 0.2)
    below, motif_top, total = layers
    top = grid.top_mm(total)
    if not plan.motifs:
        return bare_base(plan, grid, heights.base_mm, total)
    base, kept = parted(plan)
    rest = rest_of(base, [item.polygon for item in kept])
    floor = grid.top_mm(below)
    slabs = [Slab("base", "base", plan.base_color, base, 0.0, floor)]
    if not rest.is_empty:
        slabs.append(Slab("base", "base", plan.base_color, rest, floor, top))
    slabs += motif_slabs(kept, floor, grid.top_mm(motif_top))
    depth = grid.layers_mm(total - (below if motif_top == total else motif_top))
    asked = [("base", heights.base_mm, top), ("depth", heights.motif_mm, depth)]
    return Levels(tuple(slabs), total, changes_at(kept, below, grid), False, snapped_note(asked))
