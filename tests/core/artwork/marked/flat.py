"""A class's sheet drawn flat, by its published layout: what a scanner would see."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from reliefsmith.artwork.marked.placing import Place, at_middles
from reliefsmith.formats.classlayout import (
    CELL_MM,
    FIELD,
    FRAME_MM,
    LINE_MM,
    MARK_MM,
    MARKS,
    RINGS_MM,
    cell_at,
)
from reliefsmith.formats.sheetnumber import cells_of

MARGIN_MM, FINER = 12.0, 3


def drawn(number: int = 77, px_per_mm: float = 3.0, ink: int = 40, paper: int = 240) -> np.ndarray:
    """Return the brightness (h, w) of a sheet with bare paper round its frame."""
    scale = px_per_mm * FINER
    size = [round((side + 2 * MARGIN_MM) * scale) for side in FRAME_MM]
    image = Image.new("L", size, paper)
    draw = ImageDraw.Draw(image)

    def box(left: float, top: float, right: float, low: float, fill: int) -> None:
        ends = [round((side + MARGIN_MM) * scale) for side in (left, top, right, low)]
        draw.rectangle([ends[0], ends[1], ends[2] - 1, ends[3] - 1], fill=fill)

    for x, y in MARKS:
        for inset, fill in zip(RINGS_MM, (ink, paper, ink), strict=True):
            box(x + inset, y + inset, x + MARK_MM - inset, y + MARK_MM - inset, fill)
    left, top, right, low = FIELD
    half = LINE_MM / 2
    box(left - half, top - half, right + half, low + half, ink)
    box(left + half, top + half, right - half, low - half, paper)
    for row, cells in enumerate(cells_of(number)):
        for column, dark in enumerate(cells):
            x, y = cell_at(row, column)
            box(x, y, x + CELL_MM, y + CELL_MM, ink if dark else paper)
    return np.asarray(image.reduce(FINER))


def true(mm: np.ndarray, px_per_mm: float = 3.0) -> np.ndarray:
    """Return where places of the frame lie, in px."""
    return (np.asarray(mm) + MARGIN_MM) * px_per_mm


def lying(grey: np.ndarray, px_per_mm: float = 3.0, off_mm: tuple[float, float] = (0.0, 0.0)) -> Place:
    """Return where the sheet lies, by the middles of its marks, or a guess that is so far off."""
    middles = true(np.array(MARKS) + MARK_MM / 2, px_per_mm) + np.array(off_mm) * px_per_mm
    return at_middles(middles, grey.shape[::-1])
