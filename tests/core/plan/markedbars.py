"""Two thin bars on a plate, and recipes with marks on them."""

from __future__ import annotations

from typing import Any

import shapely

from reliefsmith.recipe import Recipe

from .arts import BLACK, RED, flat

PLATE = shapely.box(-20, -15, 20, 15)
THIN_BAR, OTHER_BAR = shapely.box(-12, 4.85, 12, 5.15), shapely.box(-12, -5.15, 12, -4.85)
BARS = flat((BLACK, PLATE), (RED, shapely.union(THIN_BAR, OTHER_BAR)))


def marked(*marks: dict[str, Any], **more: Any) -> Recipe:
    return Recipe().with_values({"colors.base": "#0a0a0a", "marks": list(marks), **more})


def bar_width(plan, y: float) -> float:
    (motif,) = plan.motifs
    _, low, _, high = shapely.intersection(motif.polygon, shapely.box(-5, y - 3, 5, y + 3)).bounds
    return high - low
