"""The proof: one page in true size that the customer approves, and the small picture for the 3MF."""

from __future__ import annotations

import math

from ...model import Result
from ...polygons.cover import View
from ...progress import Progress, Steps, drained
from ..canvas import Canvas, png_bytes
from ..cutaway import cut
from ..holders import hardware_of
from ..legend import legend
from ..views import Face, back_face, color_picture, front_face
from ..wording import style_words
from .beforeafter import repairs
from .figures import draw_back, draw_front, draw_key
from .hanging_figure import draw_hanging
from .layout import FOOTER_MM, GAP_MM, MARGIN_MM, PAGE_MM, lay_out
from .lists import (
    CHIP_MM,
    CHIPS_A_ROW,
    draw_chips,
    draw_findings,
    draw_footer,
    draw_heading,
    draw_repairs,
    findings_mm,
)
from .section_figure import draw_section
from .source_figure import SOURCE_MM, draw_sheet_found

__all__ = ["proof_png", "proof_png_steps", "thumbnail_png"]

REPAIRS_MM = 34.0
LEAST_LISTS_MM = 13.0
"""Height of the lists: with repairs and at most, else as the findings need but not below the second."""
THUMBNAIL_PX = 256
PROOF_LEVEL = 3
"""Of zlib: 0.17 s and 0.72 MB for the page where level 6 needs 0.25 s for 0.59 MB (measured)."""


def proof_png_steps(result: Result, front: Face | None = None) -> Steps[bytes]:
    """Draw the proof of a job, with its front if that is at hand: an A4 page at 300 dots per inch.

    Front in true size with rulers (smaller where it does not fit, and the page says so), the piece as it
    hangs on its hardware, back, key of hatches and numbers, section with layers, color chips, changes
    before and after, findings, and what the customer reads back. The same job gives the same bytes.
    """
    drawing = Progress("drawing the proof")
    yield drawing
    canvas = Canvas(*PAGE_MM)
    width = PAGE_MM[0] - 2 * MARGIN_MM
    entries, section = legend(result), cut(result.stack)
    front, hardware = front or front_face(result.stack), hardware_of(result)
    top = draw_heading(canvas, (MARGIN_MM, MARGIN_MM), width, result) + GAP_MM
    chosen = repairs(result.notes, front, result.plan, most=1 if result.sheet else 2)
    end = PAGE_MM[1] - MARGIN_MM - FOOTER_MM - GAP_MM
    first = width * (0.52 if chosen and not result.sheet else 0.3)
    taken = first + GAP_MM + (SOURCE_MM + GAP_MM if result.sheet else 0.0)
    least = SOURCE_MM if result.sheet else LEAST_LISTS_MM
    said = max(findings_mm(canvas, width - taken, result.findings), least)
    lists = end - (REPAIRS_MM if chosen else min(said, REPAIRS_MM))
    chips = lists - CHIP_MM * math.ceil(len(entries) / CHIPS_A_ROW)
    low_x, low_y, high_x, high_y = front.bounds
    room = chips - GAP_MM - 1.0 - top
    places = lay_out((high_x - low_x, high_y - low_y), top, room, hangs=hardware is not None)
    yield drawing
    draw_front(canvas, places.front.at, places.front.size, front, section.y_mm)
    yield drawing
    if hardware is not None and places.hanging is not None:
        box = places.hanging
        draw_hanging(canvas, box.at, box.size, result, face=front, hardware=hardware)
    yield drawing
    draw_back(canvas, places.back.at, places.back.size, back_face(result.stack))
    yield drawing
    draw_key(canvas, places.key.at, places.key.size, front, entries, areas=result.areas.numbered)
    yield drawing
    place, (tops, words) = places.section, _lying(result)
    draw_section(canvas, place.at, place.size, section, entries=entries, layer_tops_mm=tops, words=words)
    draw_chips(canvas, (MARGIN_MM, chips), width, entries)
    draw_repairs(canvas, (MARGIN_MM, lists), (first, end - lists), result, face=front, chosen=chosen)
    x = MARGIN_MM + first + GAP_MM
    if result.sheet is not None:
        draw_sheet_found(canvas, (x, lists), (SOURCE_MM, end - lists), result.sheet)
        x += SOURCE_MM + GAP_MM
    draw_findings(canvas, (x, lists), (MARGIN_MM + width - x, end - lists), result)
    draw_footer(canvas, (MARGIN_MM, end + GAP_MM), (width, FOOTER_MM), result)
    yield drawing
    return png_bytes(canvas.image, dpi=canvas.dpi, level=PROOF_LEVEL)


proof_png = drained(proof_png_steps)


def thumbnail_png(result: Result, side_px: int = THUMBNAIL_PX, front: Face | None = None) -> bytes:
    """Draw the front in a square on a transparent ground."""
    face = front or front_face(result.stack)
    return png_bytes(color_picture(face, View.square(face.bounds, side_px)))


def _lying(result: Result) -> tuple[tuple[float, ...], str]:
    """Return the layers that the section shows, and how the piece lies in it and its motifs stand."""
    if result.stack.back_at_mm is not None:
        return (), f"two plates, set together; {style_words(result)}"
    lying = ["face down"] if result.stack.piece else []
    return result.stack.layer_tops_mm, ", ".join([*lying, style_words(result)])
