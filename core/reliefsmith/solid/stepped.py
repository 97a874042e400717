"""Stepped: every color is one step of its own, so one nozzle needs only one change for each color."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache

import shapely

from ..colorimetry.hiding import Coefficients, coefficients_of, hiding_layers
from ..colorimetry.words import color_phrase, parse_hex, to_hex, unique_names
from ..findings import Finding, Note, finding, note
from ..mesh import moved_apart
from ..model import ColorChange, Motif, Plan, Slab
from ..model.arrays import Color
from ..polygons import union_of_faces
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings, PrinterSettings
from .layergrid import LayerGrid
from .levels import Levels, luminance, snapped_note
from .order import best_order_steps
from .ownheights import nearest_color
from .sharedrings import in_register

__all__ = ["hidden_layers", "step_layers", "stepped_steps"]

LIGHTER = 0.25
"""A color whose luminance is greater by this needs one layer more over the other; its reverse one less."""

LEAST_LAYERS, MOST_LAYERS = 2, 12
"""Fewer layers show the color below, whatever they are; more than these no step is worth."""

_KEPT = 8
"""Pieces whose steps are remembered: a changed height changes none of their shapes."""

Measured = Sequence[tuple[Color, Coefficients]]


def stepped_steps(
    plan: Plan,
    grid: LayerGrid,
    heights: HeightSettings,
    printer: PrinterSettings,
    measured: Measured = (),
) -> Steps[Levels]:
    """Stack the colors in steps.

    Each step covers its own color's area and that of all later ones, so nothing hangs over, every layer holds
    one color, and n colors take n - 1 changes. A step has the layers nearest to `heights.motif_mm`; one more
    where a light color lies over a dark one (luminance greater by 0.25), one less but at least two where a
    dark one lies over a light one. A light color whose filament was measured gets just the layers that hide
    the color below, at least two and at most `MOST_LAYERS`. The order is searched (`best_order_steps`) unless
    `heights.steps` gives it, and motifs are listed in it.
    """
    usual = max(1, grid.count(heights.motif_mm))
    whole, motifs = in_register(plan)

    @cache
    def needed(color: Color, under: Color) -> int:
        return hidden_layers(color, under, heights.layer_mm, measured) or step_layers(usual, color, under)

    def layers(color: int, below: int) -> int:
        under = plan.base_color if below < 0 else motifs[below].color
        return needed(motifs[color].color, under)

    if heights.steps:
        steps, found = _asked(heights.steps, motifs)
    else:
        order = yield from best_order_steps([item.polygon for item in motifs], layers, printer.nozzle_mm)
        steps, found = [(motifs[index].color, motifs[index].polygon) for index in order], ()
    yield Progress("stacking the steps", 0.9)
    colors = [color for color, _ in steps]
    base, polygons = moved_apart(whole, [polygon for _, polygon in steps], sections=_unions)
    shapes = _unions(base, polygons)
    names = unique_names(colors)
    below = grid.nearest(heights.base_mm)
    slabs = [Slab("base", "base", plan.base_color, base, 0.0, grid.top_mm(below))]
    changes: list[ColorChange] = []
    top, under = below, plan.base_color
    for name, color, shape in zip(names, colors, shapes, strict=True):
        if shape.is_empty:
            continue
        bottom, top = top, top + needed(color, under)
        changes.append(ColorChange(bottom + 1, grid.top_mm(bottom), color))
        slabs.append(Slab(name, "motif", color, shape, grid.top_mm(bottom), grid.top_mm(top)))
        under = color
    snapped = [
        ("base", heights.base_mm, grid.top_mm(below)),
        ("step", heights.motif_mm, grid.layers_mm(usual)),
    ]
    notes = (*snapped_note(snapped[: len(slabs)]), *_order_note(slabs))
    return Levels(tuple(slabs), top, tuple(changes), True, notes, found)


def _asked(
    wanted: Sequence[str], motifs: Sequence[Motif]
) -> tuple[list[tuple[Color, shapely.MultiPolygon]], tuple[Finding, ...]]:
    """Return the color and the area of each step that the recipe asks for, and findings.

    A color that the piece lacks has no area of its own, and is as wide as what lies above it. Colors that the
    recipe does not name come last.
    """
    colors = [parse_hex(text) for text in wanted]
    steps = [(color, shapely.MultiPolygon()) for color in colors]
    found = []
    for item in motifs:
        place = nearest_color(to_hex(item.color), colors)
        if place is not None and steps[place][1].is_empty:
            steps[place] = (item.color, item.polygon)
        else:
            steps.append((item.color, item.polygon))
            words = f"heights.steps does not name {color_phrase(item.color)}, which was put on top"
            found.append(finding("color-unmatched", words))
    return steps, tuple(found)


def step_layers(usual: int, color: Color, below: Color) -> int:
    """Return the layers of a step over another color.

    Examples
    --------
    >>> step_layers(3, (255, 255, 255), (0, 0, 0)), step_layers(3, (0, 0, 0), (255, 255, 255))
    (4, 2)
    """
    gain = luminance(color) - luminance(below)
    if gain >= LIGHTER:
        return usual + 1
    return max(min(usual, LEAST_LAYERS), usual - 1) if gain <= -LIGHTER else usual


def hidden_layers(color: Color, below: Color, layer_mm: float, measured: Measured) -> int | None:
    """Return the layers by which a measured light filament hides a darker one below, or None if unknown."""
    filament = coefficients_of(color, measured)
    if filament.assumed or luminance(color) <= luminance(below):
        return None
    return min(max(hiding_layers(filament, layer_mm, below) or MOST_LAYERS, LEAST_LAYERS), MOST_LAYERS)


@lru_cache(maxsize=_KEPT)
def _unions(
    _base: shapely.Geometry, motifs: tuple[shapely.MultiPolygon, ...]
) -> tuple[shapely.MultiPolygon, ...]:
    """Return the area of each step: that of its color and of all later ones."""
    return tuple(union_of_faces(motifs[index:]) for index in range(len(motifs)))


def _order_note(slabs: Sequence[Slab]) -> tuple[Note, ...]:
    if len(slabs) < 3:  # the base and one step leave no choice
        return ()
    steps = ", ".join(f"{slab.part} from {slab.bottom_mm:g} mm" for slab in slabs[1:])
    return (note("order-chosen", f"Steps from the base up: {steps}."),)
