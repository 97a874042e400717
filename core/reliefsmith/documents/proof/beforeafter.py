"""Before and after: the places where the plan changed the artwork, as pairs of small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image

from ...colorimetry import ciede2000, srgb_to_lab
from ...findings import Note
from ...model import Plan
from ...model.arrays import Color
from ...polygons.cover import View, coverages
from ..canvas import HAIR, INK
from ..views import Face, rim

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
COARSE_PX_PER_MM = 5.0
"""Resolution at which changes are measured: half the least stroke."""
LEAST_SEEN = 0.002
"""Share of a window below which nothing is seen to change."""
FAINT = 10.0
"""CIEDE2000 under which two areas, or an area and its ground, are outlined: white on white is not seen."""
LINE_PX, LINE_OPACITY = 1, 0.6
"""Such an outline: the thinnest line of the page, light enough to leave a thin stroke its color."""


@dataclass(frozen=True, slots=True)
class Repair:
    """One place to show: the note and the side of the square window round it."""

    note: Note
    at_mm: tuple[float, float]
    window_mm: float


def repairs(notes: Sequence[Note], face: Face, plan: Plan, *, most: int) -> tuple[Repair, ...]:
    """Choose up to `most` changes to show: of every kind what is seen most, none over another's middle.

    How much is seen is measured: the share of the window whose color differs before and after, where base
    that the drawing did not ask for counts as unchanged ground.
    """
    placed = [
        Repair(item, item.at_mm, min(max(LEAST_WINDOW_MM, 4 * (item.size_mm or 0.0)), MOST_WINDOW_MM))
        for item in notes
        if item.code in REPAIR_CODES and item.at_mm is not None
    ]
    if not placed:
        return ()
    changed = _Changed(face, plan)
    ranked = sorted(placed, key=lambda item: (-changed.share(item), item.at_mm))
    ranked = [item for item in ranked if changed.share(item) > LEAST_SEEN] or ranked[:1]
    first_of_kind = [next((item for item in ranked if item.note.code == code), None) for code in REPAIR_CODES]
    firsts = sorted((item for item in first_of_kind if item is not None), key=ranked.index)
    chosen: list[Repair] = []
    for item in [*firsts, *(item for item in ranked if item not in firsts)]:
        apart = all(
            shapely.Point(item.at_mm).distance(shapely.Point(c.at_mm)) > c.window_mm / 2 for c in chosen
        )
        if apart and len(chosen) < most:
            chosen.append(item)
    return tuple(chosen)


class _Changed:
    """Where color changed, as a coarse picture of the whole piece."""

    def __init__(self, face: Face, plan: Plan) -> None:
        self._view = View.around(face.bounds, COARSE_PX_PER_MM, pad_mm=MOST_WINDOW_MM / 2)
        before = _codes(plan.areas, plan.area_colors, plan.base_color, self._view)
        after = _codes(face.visible, face.colors, plan.base_color, self._view)
        self._differs = before != after

    def share(self, repair: Repair) -> float:
        """Return the share of a repair's window that differs."""
        half = round(repair.window_mm / 2 * COARSE_PX_PER_MM)
        column, row = np.rint(self._view.to_px(np.array([repair.at_mm]))).astype(int)[0]
        window = self._differs[max(row - half, 0) : row + half, max(column - half, 0) : column + half]
        return float(window.sum()) / (4 * half * half)


def _codes(
    shapes: Sequence[shapely.Geometry], colors: Sequence[Color], ground: Color, view: View
) -> npt.NDArray[np.int64]:
    """Return the color of each pixel as one number, 0 for ground: nothing or the base's color."""
    codes = [
        0,
        *(0 if color == ground else 1 + color[0] + 256 * (color[1] + 256 * color[2]) for color in colors),
    ]
    widest, *others = coverages(shapes, view)
    found = np.zeros(widest.shape, dtype=np.int64)
    for code, cover in zip(codes[1:], others, strict=True):
        found[cover > widest] = code
        np.maximum(widest, cover, out=widest)
    return found


def pair_pictures(
    repair: Repair, plan: Plan, face: Face, side_px: int, paper: Color
) -> tuple[Image.Image, Image.Image]:
    """Draw the same window of the artwork before any change, and of the piece as it will be.

    Where a color is too near to the paper's, the ground of both is grey.
    """
    half = repair.window_mm / 2
    x, y = repair.at_mm
    view = View(x - half, y + half, side_px / repair.window_mm, (side_px, side_px))
    ground = HAIR if _faint((*plan.area_colors, *face.colors), paper, among=False) else paper
    before = _flat(plan.areas, plan.area_colors, view, ground)
    return before, _flat(face.visible, face.colors, view, ground)


def _flat(
    shapes: Sequence[shapely.Geometry], colors: Sequence[Color], view: View, paper: Color
) -> Image.Image:
    covers = coverages(shapes, view)
    picture = sum(
        cover[..., None] * [float(value) for value in color]
        for cover, color in zip(covers, (paper, *colors), strict=True)
    )
    ink = np.zeros_like(covers[0])
    for number in _faint(colors, paper):
        np.maximum(ink, rim(covers[number], LINE_PX), out=ink)
    picture += (ink * np.float32(LINE_OPACITY))[..., None] * (np.array(INK, dtype=np.float32) - picture)
    return Image.fromarray((picture + 0.5).astype("uint8"))


def _faint(colors: Sequence[Color], paper: Color, *, among: bool = True) -> tuple[int, ...]:
    """Return the numbers, from 1, of colors too near to the paper or, `among` themselves, to another."""
    labs = srgb_to_lab(np.array([paper, *colors], dtype=np.uint8))
    apart = ciede2000(labs[:, None], labs[None]) + FAINT * np.eye(len(labs))
    nearest = apart.min(axis=1) if among else apart[:, 0]
    return tuple(number for number in range(1, len(labs)) if nearest[number] < FAINT)
