"""Heights on the layer grid: the total first, then the interface, ties by which color lies over which."""

from __future__ import annotations

import numpy as np
import shapely

from ..chroma.spaces import relative_luminance
from ..chroma.words import unique_names
from ..errors import GeometryError
from ..findings import Note, note
from ..mesh import moved_apart
from ..model import ColorChange, Motif, Plan, Slab, Stack
from ..model.arrays import Color
from ..progress import Progress, Steps, drained
from ..sections import HeightSettings, PrinterSettings
from .layers import LayerGrid, grid_of

__all__ = ["stack", "stack_steps"]


def stack_steps(plan: Plan, *, heights: HeightSettings, printer: PrinterSettings) -> Steps[Stack]:
    """Put base and motifs on whole layers.

    The total is moved to the nearest whole layer first (a tie goes up), then the interface between base and
    motifs. A tie there gives the extra layer to the motifs if any of them is lighter than the base, because
    a light layer over a dark one needs the thickness to hide it; else to the base. One motif layer at least
    stays. Motifs come in filament order: by falling area.

    All raised motifs lie in the same layers. The list of color changes holds the first layer of each color;
    with several motif colors the filament also changes within every motif layer, which the estimate counts.

    Where rings of one part touch at a point they are moved apart (`moved_apart`), so the slabs' polygons are
    just what is built.

    Parameters
    ----------
    plan : Plan
    heights : HeightSettings
    printer : PrinterSettings
        The first layer and every layer must suit its nozzle.

    Raises
    ------
    GeometryError
        If a layer is higher than the nozzle is wide.
    """
    yield Progress("setting heights", 0.0)
    for name, value in (("layer_mm", heights.layer_mm), ("first_layer_mm", heights.first_layer_mm)):
        if value > printer.nozzle_mm:
            raise GeometryError(
                f"heights.{name} {value:g} is more than the nozzle of {printer.nozzle_mm:g} mm can lay;"
                " lower it or set printer.nozzle_mm"
            )
    grid = grid_of(heights)
    yield Progress("parting touching corners", 0.2)
    base, motifs = _parted(plan)
    lighter = any(_luminance(motif.color) > _luminance(plan.base_color) for motif in motifs)
    base_layers, total = _whole_layers(grid, heights, motifs=bool(motifs), lighter=lighter)
    interface, top = grid.top_mm(base_layers), grid.top_mm(total)
    names = unique_names([motif.color for motif in motifs])
    slabs = [Slab("base", "base", plan.base_color, base, 0.0, interface)]
    slabs += [
        Slab(name, "motif", motif.color, motif.polygon, interface, top)
        for name, motif in zip(names, motifs, strict=True)
    ]
    changes = [ColorChange(base_layers + 1, interface, motif.color) for motif in motifs]
    return Stack(
        slabs=tuple(slabs),
        layer_tops_mm=tuple(grid.top_mm(layer) for layer in range(1, total + 1)),
        color_changes=tuple(changes),
        by_height=len(motifs) <= 1,
        notes=_notes(heights, interface, top, motifs=bool(motifs)),
    )


stack = drained(stack_steps)


def _parted(plan: Plan) -> tuple[shapely.Polygon | shapely.MultiPolygon, tuple[Motif, ...]]:
    """Return base and motifs, by falling area, with touching corners moved apart."""
    ordered = sorted(plan.motifs, key=lambda motif: -motif.polygon.area)
    base, polygons = moved_apart(plan.base, [motif.polygon for motif in ordered])
    pairs = zip(ordered, polygons, strict=True)
    return base, tuple(Motif(motif.color, polygon) for motif, polygon in pairs if not polygon.is_empty)


def _whole_layers(
    grid: LayerGrid, heights: HeightSettings, *, motifs: bool, lighter: bool
) -> tuple[int, int]:
    """Return the layers of the base and of the whole."""
    if not motifs:
        layers, tie = grid.nearest(heights.base_mm)
        return layers + tie, layers + tie
    total, tie = grid.nearest(heights.base_mm + heights.motif_mm)
    total = max(total + tie, 2)
    base, tie = grid.nearest(heights.base_mm)
    return min(base + (tie and not lighter), total - 1), total


def _luminance(color: Color) -> float:
    return float(relative_luminance(np.array(color, dtype=np.uint8)))


def _notes(heights: HeightSettings, interface: float, top: float, *, motifs: bool) -> tuple[Note, ...]:
    asked = heights.base_mm + (heights.motif_mm if motifs else 0.0)
    if abs(asked - top) < 1e-6 and abs(heights.base_mm - interface) < 1e-6:
        return ()
    text = (
        f"Heights moved to whole layers: base {heights.base_mm:g} to {interface:g} mm,"
        f" whole {asked:g} to {top:g} mm."
    )
    return (note("heights-snapped", text),)
