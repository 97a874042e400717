"""Letters among the motifs: they take their place, and what that leaves too thin to print goes with it."""

from __future__ import annotations

from dataclasses import replace

import shapely

from ...findings import note
from ...model import Motif, Plan, SetText
from ...model.arrays import Color
from ...polygons import GRID_MM, as_multi, grow, merged, opened, without
from ..register import by_area, in_register
from ..strokes.leastwidths import Limits

__all__ = ["with_letters"]


def with_letters(plan: Plan, made: SetText, color: Color, limits: Limits) -> Plan:
    """Return the plan with a text in a color; in the base's color it is where motifs give way."""
    is_clear = shapely.contains_properly(plan.base, made.letters) and not any(
        shapely.dwithin(motif.polygon, made.letters, GRID_MM) for motif in plan.motifs
    )
    motifs = []
    is_new = color != plan.base_color
    for motif in plan.motifs:
        if motif.color == color:
            both = (
                as_multi([motif.polygon, made.letters]) if is_clear else merged([motif.polygon, made.letters])
            )
            motifs.append(Motif(color, both))
            is_new = False
        else:
            left = motif.polygon if is_clear else _cut_back(motif.polygon, made.letters, limits)
            motifs.append(Motif(motif.color, left))
    if is_new:
        motifs.append(Motif(color, made.letters))
    kept = by_area(motifs) if is_clear else in_register(plan.base, motifs)[1]  # nothing meets: all is noded
    x, y = (round(float(value), 3) for value in made.letters.centroid.coords[0])
    words = f"Text {made.number} was set, its capitals {made.size_mm:.1f} mm high."
    set_text = replace(made, color=None if made.depth_mm else color)
    return replace(
        plan,
        motifs=kept,
        texts=(*plan.texts, set_text),
        notes=(*plan.notes, note("text-set", words, (x, y), round(made.size_mm, 2))),
    )


def _cut_back(
    shape: shapely.MultiPolygon, letters: shapely.MultiPolygon, limits: Limits
) -> shapely.MultiPolygon:
    """Take letters out of a motif, and strips beside them that no nozzle lays."""
    if not shape.intersects(letters):
        return shape
    left = without(shape, letters)
    near = grow(letters, limits.gap)
    window = left.intersection(grow(letters, limits.gap + 2 * limits.nozzle))
    thin = as_multi(window.difference(opened(window, limits.nozzle / 2)).intersection(near))
    strips = as_multi([piece for piece in thin.geoms if piece.area > limits.nozzle**2])
    return left if strips.is_empty else without(left, strips)
