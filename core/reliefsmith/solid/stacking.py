"""Heights on the layer grid: which polygon of which part fills which layers, in the style of the recipe."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from ..colorimetry.hiding import measured_stock
from ..model import Artwork, HandRelief, Plan, Stack
from ..progress import Progress, Steps, drained
from ..recipe.sections import BaseSettings, FilamentSettings, HeightSettings, PrinterSettings, settled
from .bed import on_bed, piece_of
from .brightness import Picture
from .facedown import flush_down_steps
from .foot import footed
from .halves import halves_steps
from .handground import in_one_coverage
from .handtops import sculpted_steps
from .inlaid import flush_steps, sunk_steps
from .jointed import jointed
from .layergrid import LayerGrid, grid_of
from .levels import Levels
from .pockets import pocketed, without_inlays
from .raised import raised_steps
from .rim import rimmed, with_rim
from .sharedrings import parted
from .stepped import stepped_steps
from .table import refuse_unfit
from .tops import topped_steps

__all__ = ["STYLES", "STYLES_DOWN", "stack", "stack_steps"]

Style = Callable[[Plan, LayerGrid, HeightSettings, PrinterSettings], Steps[Levels]]

STYLES: dict[str, Style] = {
    "raised": raised_steps,
    "flush": flush_steps,
    "sunk": sunk_steps,
    "stepped": stepped_steps,
}
"""How each style of the recipe puts a plan on layers."""

STYLES_DOWN: dict[str, Style] = {"flush": flush_down_steps, "sunk": halves_steps}
"""How styles are printed face down; the others are refused (`table.PLATES`)."""

_PLAIN, _NONE = BaseSettings(), FilamentSettings()


def stack_steps(
    plan: Plan,
    artwork: Artwork | None = None,
    hand: HandRelief | None = None,
    *,
    heights: HeightSettings,
    printer: PrinterSettings,
    base: BaseSettings = _PLAIN,
    filaments: FilamentSettings = _NONE,
) -> Steps[Stack]:
    """Put base and motifs on whole layers, in the style of the recipe.

    Where rings of one part touch at a point they are moved apart (`moved_apart`), so the slabs' polygons are
    just what is built. Motifs come in filament order: by falling area, for steps from the base up.

    Parameters
    ----------
    plan : Plan
    artwork : Artwork, optional
        The picture, which only tops by brightness need.
    hand : HandRelief, optional
        What a hand added to the tops.
    heights : HeightSettings
    printer : PrinterSettings
        The first layer and every layer must suit its nozzle.
    base : BaseSettings
        Its rim.
    filaments : FilamentSettings
        Those whose hiding was measured give steps just the layers that hide what is below.

    Raises
    ------
    RecipeError
        If style, face, top, split, rim and heights of single colors do not go together (`table`).
    GeometryError
        If a layer is higher than the nozzle is wide, or the base too low for the style.
    """
    yield Progress("setting heights", 0.0)
    heights, why = settled(heights, base, printer, len(plan.motifs))
    refuse_unfit(heights, base, sculpted=hand is not None)
    grid = grid_of(heights, printer.nozzle_mm)
    by_area = tuple(sorted(plan.motifs, key=lambda motif: -motif.polygon.area))
    if hand is not None and by_area:  # the base round motifs gets a surface of its own
        whole, by_area = parted(replace(plan, motifs=by_area))
        plan = replace(plan, base=whole)
    levels = yield from _levels_steps(
        replace(plan, motifs=by_area), grid, (heights, printer, base), filaments
    )
    levels = jointed(levels, plan.division, grid, heights)
    levels = pocketed(levels, (*plan.pockets, *plan.sunk), grid, heights.face)
    if heights.foot_mm:
        yield Progress("drawing the first layer in", 0.9)
        slabs = footed(levels.slabs, grid.top_mm(1), heights.foot_mm)
        back = footed(levels.back, grid.top_mm(1), heights.foot_mm) if levels.back else ()
        levels = replace(levels, slabs=slabs, back=back)
    if hand is not None:
        levels = replace(levels, slabs=in_one_coverage(levels.slabs))
    levels, laid = without_inlays(levels, plan.inlaid, heights.face)
    if heights.top != "flat":
        picture = None if artwork is None else Picture(artwork, plan.frame)
        levels = yield from topped_steps(levels, grid, heights, printer.nozzle_mm, picture)
    if hand is not None:
        levels = yield from sculpted_steps(levels, grid, heights, hand, plan.artwork_mm[0])
    levels = replace(levels, slabs=(*levels.slabs, *laid))
    slabs, back_at = on_bed(levels, heights.face)
    return Stack(
        slabs=slabs,
        layer_tops_mm=tuple(grid.top_mm(layer) for layer in range(1, levels.layers + 1)),
        color_changes=levels.changes,
        by_height=levels.by_height,
        findings=levels.findings,
        notes=levels.notes,
        piece=piece_of(levels, heights.face),
        jobs=levels.jobs,
        back_at_mm=back_at,
        style=heights.style,
        style_reason=why,
    )


def _levels_steps(
    plan: Plan,
    grid: LayerGrid,
    settings: tuple[HeightSettings, PrinterSettings, BaseSettings],
    filaments: FilamentSettings,
) -> Steps[Levels]:
    heights, printer, base = settings
    steps = (STYLES if heights.face == "up" else STYLES_DOWN)[heights.style]
    if steps is stepped_steps:
        steps = partial(stepped_steps, measured=measured_stock(filaments.stock))
    if base.rim_mm == 0:
        return (yield from steps(plan, grid, heights, printer))
    yield Progress("shaping the rim", 0.1)
    plan, rim = rimmed(plan, base, printer.nozzle_mm)
    levels = yield from steps(plan, grid, heights, printer)
    return with_rim(levels, rim, grid, base)


stack = drained(stack_steps)
