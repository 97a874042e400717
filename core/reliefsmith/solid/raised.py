"""Raised: all motifs stand on the base, in the same layers."""

from __future__ import annotations

from collections.abc import Sequence

from ..mesh import moved_apart
from ..model import Plan, Slab
from ..model.plan import in_shapes
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings, PrinterSettings
from .layergrid import LayerGrid
from .levels import Levels, changes_at, luminance, motif_slabs, snapped_note
from .ownheights import own_heights

__all__ = ["raised_steps"]


def raised_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, _printer: PrinterSettings
) -> Steps[Levels]:
    """Put base and motifs on whole layers.

    The total is moved to the nearest whole layer first (a tie goes up), then the interface between base and
    motifs. A tie there gives the extra layer to the motifs if any of them is lighter than the base, because
    a light layer over a dark one needs the thickness to hide it; else to the base. One motif layer at least
    stays. Colors named in `heights.colors` end at the whole layer nearest to their own height.

    The list of color changes holds the first layer of each color; with several motif colors the filament also
    changes within every motif layer, which the estimate counts.
    """
    yield Progress("parting touching corners", 0.2)
    base, polygons = moved_apart(plan.base, [motif.polygon for motif in plan.motifs])
    motifs = in_shapes(plan.motifs, polygons)
    own, findings = own_heights(heights, [motif.color for motif in motifs])
    below, tops = _whole_layers(plan, grid, heights, own)
    interface = grid.top_mm(below)
    slabs = motif_slabs(motifs, interface, [grid.top_mm(top) for top in tops])
    base_slab = Slab("base", "base", plan.base_color, base, 0.0, interface)
    total = max(tops, default=below)
    asked = heights.base_mm + max(own, default=0.0)
    words = [("base", heights.base_mm, interface), ("whole", asked, grid.top_mm(total))]
    if len(set(own)) > 1:
        pairs_of = zip(slabs, own, tops, strict=True)
        words += [(slab.part, heights.base_mm + one, grid.top_mm(top)) for slab, one, top in pairs_of]
    return Levels(
        slabs=(base_slab, *slabs),
        layers=total,
        changes=changes_at(motifs, below, grid),
        by_height=len(motifs) <= 1,
        notes=snapped_note(words),
        findings=findings,
    )


def _whole_layers(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, own: Sequence[float]
) -> tuple[int, list[int]]:
    """Return the layers of the base, and of the base with each motif."""
    base = grid.nearest(heights.base_mm)
    if not own:
        return base, []
    tops = [max(grid.nearest(heights.base_mm + one), 2) for one in own]
    lighter = any(luminance(motif.color) > luminance(plan.base_color) for motif in plan.motifs)
    return min(base - (grid.is_tie(heights.base_mm) and lighter), min(tops) - 1), tops
