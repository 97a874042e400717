"""Before and after: the places where the plan changed the artwork, as pairs of small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from PIL import Image

from ..findings import Note
from ..model import Plan
from ..model.arrays import Color
from .masks import View, coverages, labels
from .piece import Face

__all__ = ["REPAIR_CODES", "Repair", "pair_pictures", "repairs"]

REPAIR_CODES = (
    "stroke-thickened",
    "dot-enlarged",
    "gap-closed",
    "area-removed",
    "link-added",
    "motif-cleared",
    "base-widened",
    "base-grown",
    "opening-filled",
)
"""Changes that a customer sees, what touches the drawing itself first."""

LEAST_WINDOW_MM = 8.0
MOST_WINDOW_MM = 24.0


@dataclass(frozen=True, slots=True)
class Repair:
    """One place to show: the note and the side of the square window round it."""

    note: Note
    at_mm: tuple[float, float]
    window_mm: float


def repairs(notes: Sequence[Note], most: int) -> tuple[Repair, ...]:
    """Choose up to `most` changes to show: of every kind the largest first, none over another's middle."""
    placed = [item for item in notes if item.code in REPAIR_CODES and item.at_mm is not None]
    placed.sort(key=lambda item: (REPAIR_CODES.index(item.code), -(item.size_mm or 0.0), item.at_mm or ()))
    first_of_kind = [item for n, item in enumerate(placed) if item.code not in {p.code for p in placed[:n]}]
    others = [item for item in placed if item not in first_of_kind]
    chosen: list[Repair] = []
    for item in [*first_of_kind, *others]:
        at_mm = item.at_mm
        if at_mm is None or len(chosen) == most:
            continue
        window = min(max(LEAST_WINDOW_MM, 4 * (item.size_mm or 0.0)), MOST_WINDOW_MM)
        if all(shapely.Point(at_mm).distance(shapely.Point(c.at_mm)) > c.window_mm / 2 for c in chosen):
            chosen.append(Repair(item, at_mm, window))
    return tuple(chosen)


def pair_pictures(
    repair: Repair, plan: Plan, face: Face, side_px: int, paper: Color
) -> tuple[Image.Image, Image.Image]:
    """Draw the same window of the artwork before any change, and of the piece as it will be."""
    half = repair.window_mm / 2
    x, y = repair.at_mm
    view = View(x - half, y + half, side_px / repair.window_mm, (side_px, side_px))
    before = _flat(plan.areas, plan.area_colors, view, paper)
    return before, _flat(face.shapes, face.colors, view, paper)


def _flat(
    shapes: Sequence[shapely.Geometry], colors: Sequence[Color], view: View, paper: Color
) -> Image.Image:
    covers = coverages(labels(shapes, view), len(shapes))
    picture = sum(
        cover[..., None] * [float(value) for value in color]
        for cover, color in zip(covers, (paper, *colors), strict=True)
    )
    return Image.fromarray((picture + 0.5).astype("uint8"))
