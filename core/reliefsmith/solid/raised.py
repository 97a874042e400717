"""Raised: all motifs stand on the base, in the same layers."""

from __future__ import annotations

from ..mesh import moved_apart
from ..model import Motif, Plan, Slab
from ..progress import Progress, Steps
from ..sections import HeightSettings, PrinterSettings
from .layers import LayerGrid, tied_up
from .levels import Levels, changes_at, luminance, motif_slabs, snapped_note

__all__ = ["raised_steps"]


def raised_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, _printer: PrinterSettings
) -> Steps[Levels]:
    """Put base and motifs on whole layers.

    The total is moved to the nearest whole layer first (a tie goes up), then the interface between base and
    motifs. A tie there gives the extra layer to the motifs if any of them is lighter than the base, because
    a light layer over a dark one needs the thickness to hide it; else to the base. One motif layer at least
    stays.

    The list of color changes holds the first layer of each color; with several motif colors the filament also
    changes within every motif layer, which the estimate counts.
    """
    yield Progress("parting touching corners", 0.2)
    base, polygons = moved_apart(plan.base, [motif.polygon for motif in plan.motifs])
    pairs = zip(plan.motifs, polygons, strict=True)
    motifs = [Motif(motif.color, polygon) for motif, polygon in pairs if not polygon.is_empty]
    below, total = _whole_layers(plan, grid, heights)
    interface, top = grid.top_mm(below), grid.top_mm(total)
    asked = heights.base_mm + (heights.motif_mm if plan.motifs else 0.0)
    return Levels(
        slabs=(
            Slab("base", "base", plan.base_color, base, 0.0, interface),
            *motif_slabs(motifs, interface, top),
        ),
        layers=total,
        changes=changes_at(motifs, below, grid),
        by_height=len(motifs) <= 1,
        notes=snapped_note([("base", heights.base_mm, interface), ("whole", asked, top)]),
    )


def _whole_layers(plan: Plan, grid: LayerGrid, heights: HeightSettings) -> tuple[int, int]:
    """Return the layers of the base and of the whole."""
    base, tie = grid.nearest(heights.base_mm)
    if not plan.motifs:
        return base + tie, base + tie
    total = max(tied_up(grid.nearest(heights.base_mm + heights.motif_mm)), 2)
    lighter = any(luminance(motif.color) > luminance(plan.base_color) for motif in plan.motifs)
    return min(base + (tie and not lighter), total - 1), total
