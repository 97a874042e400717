"""Hand relief on generated tops: every top that can be seen is higher or lower by what the hand did there.

What something stands on stays level, and at least two layers of a part stay below every carved place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..findings import Finding, Note, finding, note
from ..mesh import plain_heights
from ..model import HandRelief, Sculpted, Slab
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings
from .handground import WORK_MM, Work, ground_of, off_ground, work_on
from .layergrid import LayerGrid
from .levels import Levels

__all__ = ["CARVED_LAYERS", "sculpted_steps"]

CARVED_LAYERS = 2
"""Layers of a part that carving leaves: one may show what is below."""

FINEST_MM, COARSEST_MM = 0.1, 0.2
"""Between these lie the points of a sculpted top: a quarter and a half of a usual bead."""

_LEAST_SHARE = 0.001  # of work without ground that is worth a word


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
        Their polygons in one coverage (`handground.in_one_coverage`), their tops as generated.
    grid : LayerGrid
    heights : HeightSettings
    hand : HandRelief
    width_mm : float
        Of the artwork.
    """
    step = min(max(round(hand.step * width_mm, 3), FINEST_MM), COARSEST_MM)
    carved_only = heights.hand_reach == "within" and heights.style in ("flush", "sunk")
    slabs, grounds, limited = [], [], 0.0
    for number, slab in enumerate(levels.slabs):
        yield Progress(f"sculpting {slab.part}", 0.5 + 0.4 * number / len(levels.slabs))
        ground = ground_of(slab, levels.slabs)
        grounds.append(ground)
        work = work_on(slab.polygon, ground, hand, width_mm, step, carved_only=carved_only)
        found, held_back = (slab, 0.0) if work is None else _sculpted(slab, work, grid)
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
        findings=(*levels.findings, *_lost(hand, width_mm, tuple(grounds))),
    )


def _sculpted(slab: Slab, work: Work, grid: LayerGrid) -> tuple[Slab, float]:
    """Return a slab with relief on its ground, and the area in mm2 where two layers held it back."""
    bottom = slab.bottom_mm
    floor = grid.top_mm(CARVED_LAYERS) if bottom == 0 else bottom + grid.layers_mm(CARVED_LAYERS)
    floor = round(floor, 6)
    plain = plain_heights(slab.plain_top)(work.places)
    asked = plain + work.values
    made = np.maximum(asked, np.minimum(plain, floor))
    rim = min(slab.rim_mm, float((slab.rim_mm + work.values).clip(min=floor).min()))
    lowest = round(min(float(made.min()), rim), 3)
    is_whole = work.free.area >= slab.polygon.area
    highest = round(max(float(made.max()), 0.0 if is_whole else slab.highest_mm), 3)
    top = Sculpted(slab.plain_top, work.field, work.free, floor, lowest, highest)
    return replace(slab, top=top), float((made - asked > WORK_MM).sum()) * work.field.step_mm**2


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


def _lost(hand: HandRelief, width_mm: float, grounds: Sequence[shapely.Geometry]) -> tuple[Finding, ...]:
    """Say which share of the work has no ground: it lies beside the piece or under what stands there."""
    lost, place = off_ground(hand, width_mm, tuple(grounds))
    if lost < _LEAST_SHARE:
        return ()
    words = f"Hand relief: kept {1 - lost:.1%}, {lost:.1%} lost its ground: no top can be seen there."
    return (finding("hand-off", words, (*place, 0.0)),)
