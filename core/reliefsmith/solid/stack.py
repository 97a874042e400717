"""Heights on the layer grid: which polygon of which part fills which layers, in the style of the recipe."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ..errors import GeometryError
from ..model import Plan, Stack
from ..progress import Progress, Steps, drained
from ..sections import HeightSettings, PrinterSettings
from .inlaid import flush_steps, sunk_steps
from .layers import LayerGrid, grid_of
from .levels import Levels
from .raised import raised_steps
from .stepped import stepped_steps

__all__ = ["STYLES", "stack", "stack_steps"]

Style = Callable[[Plan, LayerGrid, HeightSettings, PrinterSettings], Steps[Levels]]

STYLES: dict[str, Style] = {
    "raised": raised_steps,
    "flush": flush_steps,
    "sunk": sunk_steps,
    "stepped": stepped_steps,
}
"""How each style of the recipe puts a plan on layers."""


def stack_steps(plan: Plan, *, heights: HeightSettings, printer: PrinterSettings) -> Steps[Stack]:
    """Put base and motifs on whole layers, in the style of the recipe.

    Where rings of one part touch at a point they are moved apart (`moved_apart`), so the slabs' polygons are
    just what is built. Motifs come in filament order: by falling area, for steps from the base up.

    Parameters
    ----------
    plan : Plan
    heights : HeightSettings
    printer : PrinterSettings
        The first layer and every layer must suit its nozzle.

    Raises
    ------
    GeometryError
        If a layer is higher than the nozzle is wide, or the base too low for the style.
    """
    yield Progress("setting heights", 0.0)
    for name, value in (("layer_mm", heights.layer_mm), ("first_layer_mm", heights.first_layer_mm)):
        if value > printer.nozzle_mm:
            raise GeometryError(
                f"heights.{name} {value:g} is more than the nozzle of {printer.nozzle_mm:g} mm can lay;"
                " lower it or set printer.nozzle_mm"
            )
    grid = grid_of(heights)
    by_area = tuple(sorted(plan.motifs, key=lambda motif: -motif.polygon.area))
    levels = yield from STYLES[heights.style](replace(plan, motifs=by_area), grid, heights, printer)
    return Stack(
        slabs=levels.slabs,
        layer_tops_mm=tuple(grid.top_mm(layer) for layer in range(1, levels.layers + 1)),
        color_changes=levels.changes,
        by_height=levels.by_height,
        notes=levels.notes,
    )


stack = drained(stack_steps)
