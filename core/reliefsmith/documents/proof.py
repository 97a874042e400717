"""The proof: one page in true size that the customer approves, and the small picture for the 3MF."""

from __future__ import annotations

from PIL import Image

from ..model import Result
from .canvas import Canvas, png_bytes
from .figures import CAPTION_MM, RULER_MM, draw_back, draw_front, draw_hanging, draw_key
from .hardware import hardware_for
from .legend import legend
from .lists import CHIP_MM, CHIPS_A_ROW, draw_chips, draw_findings, draw_footer, draw_heading, draw_repairs
from .masks import View
from .piece import Face, back_face, color_picture, front_face
from .repairs import repairs
from .section import cut
from .section_figure import draw_section

__all__ = ["proof_png", "thumbnail_png"]

PAGE_MM = (210.0, 297.0)
MARGIN_MM = 13.0
GAP_MM = 4.0
FOOTER_MM = 19.0
REPAIRS_MM = 34.0
LEAST_LISTS_MM = 13.0
FINDING_MM = 5.0
FIGURES_MM = 42.0
"""Least height of the row of back, key and section."""
MOST_FIGURES_MM = 60.0
LEAST_VIEWS_MM = 70.0
THUMBNAIL_PX = 256
PROOF_LEVEL = 3
"""Of zlib: 0.17 s and 0.72 MB for the page where level 6 needs 0.25 s for 0.59 MB (measured)."""


def proof_png(result: Result) -> bytes:
    """Draw the proof of a job: an A4 page at 300 dots per inch.

    Front in true size with rulers (smaller where it does not fit, and the page says so), the piece as it
    hangs on its hardware, back, key of hatches and numbers, section with layers, color chips, changes
    before and after, findings, and what the customer reads back. The same job gives the same bytes.
    """
    canvas = Canvas(*PAGE_MM)
    width = PAGE_MM[0] - 2 * MARGIN_MM
    entries, section = legend(result), cut(result.stack)
    front, hardware = front_face(result.stack), hardware_for(result.recipe.hang.hardware, result.plan.hole)
    left, y = MARGIN_MM, MARGIN_MM
    y = draw_heading(canvas, (left, y), width, result) + GAP_MM
    views_mm, figures_mm = _heights(result, front, PAGE_MM[1] - MARGIN_MM - y)
    first = _front_width(front, width) if hardware is not None else width
    draw_front(canvas, (left, y), (first, views_mm), front, section.y_mm)
    if hardware is not None:
        rest = (left + first + GAP_MM, y)
        draw_hanging(canvas, rest, (width - first - GAP_MM, views_mm), result, face=front, hardware=hardware)
    y += views_mm + GAP_MM
    small = (width - 2 * GAP_MM) * 0.27
    draw_back(canvas, (left, y), (small, figures_mm), back_face(result.stack))
    draw_key(canvas, (left + small + GAP_MM, y), (small, figures_mm), front, entries)
    draw_section(
        canvas,
        (left + 2 * (small + GAP_MM), y),
        (width - 2 * (small + GAP_MM), figures_mm),
        section,
        entries=entries,
        layer_tops_mm=result.stack.layer_tops_mm,
    )
    y += figures_mm + GAP_MM + 1.0
    draw_chips(canvas, (left, y), width, entries)
    y += CHIP_MM * _rows(len(entries))
    _draw_lists(canvas, y, width, result, front)
    draw_footer(canvas, (left, PAGE_MM[1] - MARGIN_MM - FOOTER_MM), (width, FOOTER_MM), result)
    return png_bytes(canvas.image, dpi=canvas.dpi, level=PROOF_LEVEL)


def thumbnail_png(result: Result, side_px: int = THUMBNAIL_PX) -> bytes:
    """Draw the front in a square on a transparent ground."""
    face = front_face(result.stack)
    low_x, low_y, high_x, high_y = face.bounds
    half = max(high_x - low_x, high_y - low_y) / 2 * 1.04
    x, y = (low_x + high_x) / 2, (low_y + high_y) / 2
    view = View(x - half, y + half, side_px / (2 * half), (side_px, side_px))
    picture: Image.Image = color_picture(face, view)
    return png_bytes(picture)


def _draw_lists(canvas: Canvas, y: float, width: float, result: Result, front: Face) -> None:
    """Draw changes and findings side by side; the changes get the room they need."""
    chosen = repairs(result.notes, most=2)
    room = PAGE_MM[1] - MARGIN_MM - FOOTER_MM - GAP_MM - y
    first = width * (0.52 if chosen else 0.4)
    draw_repairs(canvas, (MARGIN_MM, y), (first, room), result, face=front, chosen=chosen)
    second = (MARGIN_MM + first + GAP_MM, y)
    draw_findings(canvas, second, (width - first - GAP_MM, room), result)


def _rows(count: int) -> int:
    return -(-count // CHIPS_A_ROW)


def _front_width(face: Face, width: float) -> float:
    """Return the width of the front's panel: what true size needs, but room is left for the hanging view."""
    need = face.bounds[2] - face.bounds[0] + RULER_MM + 16.0
    return min(max(need, (width - GAP_MM) / 2), width - GAP_MM - 58.0)


def _heights(result: Result, face: Face, room: float) -> tuple[float, float]:
    """Return the heights of the row of large views and of the row of figures below it.

    What the chips and lists leave goes first to a front in true size, then to the figures, then to the
    large views again.
    """
    chips = CHIP_MM * _rows(len(result.parts))
    lists = (
        REPAIRS_MM
        if repairs(result.notes, most=1)
        else LEAST_LISTS_MM + FINDING_MM * min(len(result.findings), 4)
    )
    room -= chips + lists + FOOTER_MM + 3 * GAP_MM + 1.0
    need = face.bounds[3] - face.bounds[1] + CAPTION_MM + RULER_MM + 9.0
    views = min(max(need, LEAST_VIEWS_MM), room - FIGURES_MM)
    figures = min(room - views, MOST_FIGURES_MM)
    return room - figures, figures
