"""What one sees of solids from above, read off cut layers, against the areas that were asked for."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from reliefsmith.checks.contrast import visible
from reliefsmith.checks.layerstack import cut_layers_steps
from reliefsmith.model import Part, Plan
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import HeightSettings

BAND_MM = 0.2
"""Boundaries are judged apart: a bead is twice as wide."""


def share_seen_right(plan: Plan, parts: Sequence[Part], heights: HeightSettings) -> float:
    """Return the share of the artwork, bands along boundaries left out, that shows its own color."""
    seen = visible(drain(cut_layers_steps(parts, heights=heights)))
    colors = {part.name: part.color for part in parts}
    lines = [shapely.boundary(area).buffer(BAND_MM, quad_segs=4) for area in plan.areas]
    apart = shapely.union_all(lines)
    judged = right = 0.0
    for area, color in zip(plan.areas, plan.area_colors, strict=True):
        inner = shapely.difference(area, apart)
        own = [shape for name, (shape, _) in seen.items() if colors[name] == color]
        judged += inner.area
        right += shapely.intersection(inner, shapely.union_all(own)).area
    return right / judged if judged else 1.0
