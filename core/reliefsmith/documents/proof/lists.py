"""The worded blocks of the proof: heading and read-back, color chips, repairs, findings, approval."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PIL import Image

from ...findings import Finding, Severity, count_words
from ...model import Result
from ..canvas import GREY, HAIR, INK, LEAST_POINTS, PAPER, At, Canvas, legible
from ..cautions import caution_words
from ..hatch import hatch_for, hatch_plane
from ..holders import hardware_of
from ..legend import LegendEntry
from ..views import Face
from ..wording import AUDIENCE, SEVERITY, changes_words, hang_words, height_words, layer_words, size_words
from .beforeafter import Repair, pair_pictures
from .captions import caption
from .figures import marker

__all__ = [
    "CHIPS_A_ROW",
    "CHIP_MM",
    "draw_chips",
    "draw_findings",
    "draw_footer",
    "draw_heading",
    "draw_repairs",
    "findings_mm",
]

CHIP_MM = 14.5
"""Height of a row of color chips."""
CHIPS_A_ROW = 4
REPAIR_POINTS = 6.8
LEAST_PAIR_MM = 11.0
"""Type below the pictures of a change, and their least side where it takes many lines."""
CODE_MM = 60.0
"""Room for the order code beside the title."""

_SEVERITY_SHADE = {Severity.STOP: (176, 32, 32), Severity.WARN: (158, 92, 0), Severity.NOTE: (60, 84, 110)}
_SIGNED_MM, _APART_MM = 74.0, 8.0  # what is signed stands at the right of the footer, apart from what is read
_READ_BACK_MM = 4.0  # from line to line of what is to be read back


def draw_heading(canvas: Canvas, at: At, width: float, result: Result) -> float:
    """Draw title, order code and the facts that the customer reads back, none of it cut; return its end."""
    order = result.recipe.order
    canvas.label(at, "Proof for approval")
    start = at[1] + 9.2
    y, taken = _draw_code(canvas, (at[0] + width, start), order.code)
    y = max(y, _draw_title(canvas, (at[0], start), width - taken - 8.0, order.title or result.stem))
    canvas.line((at[0], y), (at[0] + width, y))
    pieces = count_words(order.quantity, "piece")
    facts = [
        ("For", order.customer, 60.0),
        ("Pieces", f"{pieces}, {AUDIENCE[result.recipe.audience]}", 36.0),
        ("Size", size_words(result), 42.0),
        ("Hanging", hang_words(result), 46.0),
    ]
    x, end = at[0], y
    for name, words, room in facts:
        if not words:
            continue
        canvas.label((x, y + 4.8), name)
        lines = canvas.wrapped(words, room - 4.0, size=8.5)
        end = max(end, canvas.paragraph((x, y + 9.0), lines, size=8.5))
        x += room
    end -= canvas.leading(8.5)
    return _draw_spelling(canvas, (at[0], end), width, order.spelling) if order.spelling else end


def _draw_spelling(canvas: Canvas, at: At, width: float, spelling: str) -> float:
    """Draw what the piece has to say, letter for letter; return where it ends."""
    canvas.label((at[0], at[1] + 5.2), "Spelled exactly")
    lines = canvas.wrapped(spelling, width, size=12, bold=True)
    end = canvas.paragraph((at[0], at[1] + 10.4), lines, size=12, bold=True)
    return end - canvas.leading(12)


def _draw_code(canvas: Canvas, at: At, code: str) -> tuple[float, float]:
    """Draw the order code flush right, in several lines if it is long; return its end and width."""
    size = 15.0
    while size > 10.0 and canvas.width(code, size=size, bold=True) > CODE_MM:
        size -= 0.5
    lines = canvas.wrapped(code, CODE_MM, size=size, bold=True)
    for order, line in enumerate(lines):
        canvas.text((at[0], at[1] + order * canvas.leading(size)), line, size=size, bold=True, anchor="rs")
    taken = max((canvas.width(line, size=size, bold=True) for line in lines), default=0.0)
    return at[1] + (len(lines) - 1) * canvas.leading(size) + 4.0, taken


def _draw_title(canvas: Canvas, at: At, width: float, title: str) -> float:
    """Draw the title in one line of 19 to 13 points, else in lines of 12; return where it ends."""
    size = 19.0
    while size > 13.0 and canvas.width(title, size=size, bold=True) > width:
        size -= 0.5
    lines = [title]
    if canvas.width(title, size=size, bold=True) > width:
        size = 12.0
        lines = canvas.wrapped(title, width, size=size, bold=True)
    end = canvas.paragraph(at, lines, size=size, bold=True)
    return end - canvas.leading(size) + 4.0


def draw_chips(canvas: Canvas, at: At, width: float, entries: Sequence[LegendEntry]) -> None:
    """Draw each color with number, name, hex, hatch, heights and layers, four in a row."""
    pitch = width / CHIPS_A_ROW
    for order, entry in enumerate(entries):
        row, column = divmod(order, CHIPS_A_ROW)
        _chip(canvas, (at[0] + column * pitch, at[1] + row * CHIP_MM), pitch, entry)


def _chip(canvas: Canvas, at: At, width: float, entry: LegendEntry) -> None:
    side = (9.0, 11.0)
    canvas.panel(at, (side[0] + 6.0, side[1]), fill=PAPER, outline=HAIR)
    swatch = Image.new("RGB", (canvas.px(side[0]), canvas.px(side[1] - 1.6)), entry.color)
    canvas.paste(swatch, (at[0] + 0.8, at[1] + 0.8))
    ink = hatch_plane(hatch_for(entry.number), (canvas.px(4.4), swatch.size[1]), canvas.px_per_mm)
    hatch = Image.fromarray((255 - 210 * ink + 0.5).astype(np.uint8)).convert("RGB")
    canvas.paste(hatch, (at[0] + side[0] + 0.8, at[1] + 0.8))
    marker(canvas, (at[0] + 0.8 + side[0] / 2, at[1] + side[1] / 2), str(entry.number))
    x, room = at[0] + side[0] + 8.0, width - side[0] - 10.0
    name, size = canvas.fitted(entry.title, room, size=9, bold=True)
    canvas.text((x, at[1] + 3.2), name, size=size, bold=True)
    heights = f"{height_words(entry)}, {layer_words(entry)}"
    rows = [f"{entry.hex}, {entry.role}", *filter(None, [entry.spool]), heights]
    for order, row in enumerate(rows):
        words, size = canvas.fitted(row, room, size=7.2)
        y = at[1] + 7.0 + order * 3.4 * (2 / len(rows) + 1 / 6 if len(rows) > 2 else 1.0)
        canvas.text((x, y), words, size=size, fill=GREY)


def draw_repairs(
    canvas: Canvas, at: At, size: At, result: Result, *, face: Face, chosen: Sequence[Repair]
) -> None:
    """Draw the chosen changes as pairs, before and after, with what was done."""
    canvas.panel(at, size)
    if not chosen:
        words = f"{changes_words(result)}, listed on the job sheet"
        words = words if result.notes else "the drawing is printed as it came"
        caption(canvas, at, "Changes", words, size[0])
        return
    words = f"{changes_words(result)}, all on the job sheet; before and after"
    caption(canvas, at, "Changed for printing", words, size[0])
    pitch = (size[0] - 7.0) / max(len(chosen), 2)
    told = [canvas.wrapped(repair.note.message, pitch - 3.0, size=REPAIR_POINTS) for repair in chosen]
    lines_mm = max(len(lines) for lines in told) * canvas.leading(REPAIR_POINTS)
    side = min((pitch - 5.0) / 2, max(size[1] - 9.4 - lines_mm, LEAST_PAIR_MM))
    for order, repair in enumerate(chosen):
        x, y = at[0] + 3.5 + order * pitch, at[1] + 8.0
        pair = pair_pictures(repair, result.plan, face, canvas.px(side), PAPER)
        for n, picture in enumerate(pair):
            spot = (x + n * (side + 1.2), y)
            canvas.paste(picture, spot)
            corner = (canvas.px(spot[0]), canvas.px(spot[1]))
            box = (*corner, corner[0] + picture.size[0], corner[1] + picture.size[1])
            canvas.draw.rectangle(box, outline=HAIR, width=2)
        most = int((size[1] - 9.4 - side) / canvas.leading(REPAIR_POINTS) + 1e-6)
        canvas.paragraph((x, y + side + 3.2), _cut(told[order], most), size=REPAIR_POINTS, fill=GREY)


def draw_findings(canvas: Canvas, at: At, size: At, result: Result) -> None:
    """Write the gravest findings, each with its word, as many as have room; count the others."""
    canvas.panel(at, size)
    found = result.findings
    if not found:
        caption(canvas, at, "Checks", "nothing found that stands against printing", size[0])
        return
    caption(canvas, at, "Checks", count_words(len(found), "finding"), size[0])
    y, end = at[1] + 10.2, at[1] + size[1] - 2.5
    points, width = 7.5, size[0] - 30.0
    while points > LEAST_POINTS and _height(canvas, found, width, points) > end - y:
        points -= 0.5
    step = canvas.leading(points)
    for order, item in enumerate(found):
        left = len(found) - order
        lines = canvas.wrapped(item.message, width, size=points)
        room = int((end - y) / step) + (1 if left == 1 else 0)  # the count of what is left takes a line
        if room < min(len(lines), 2):
            canvas.text((at[0] + 3.5, y), f"{left} more on the job sheet", size=points, fill=GREY)
            return
        shade = _SEVERITY_SHADE[item.severity]
        canvas.text((at[0] + 3.5, y), SEVERITY[item.severity], size=points, bold=True, fill=shade)
        y = canvas.paragraph((at[0] + 25.0, y), _cut(lines, room), size=points) + 0.6


def findings_mm(canvas: Canvas, width: float, found: Sequence[Finding]) -> float:
    """Return how high a panel of this width must be to hold all findings in type of 7.5 points."""
    return 10.2 + _height(canvas, found, width - 30.0, 7.5) + 2.5


def _height(canvas: Canvas, found: Sequence[Finding], width: float, points: float) -> float:
    """Return how far down the last line of findings would stand below the first."""
    lines = sum(len(canvas.wrapped(item.message, width, size=points)) for item in found)
    return (lines - 1) * canvas.leading(points) + (len(found) - 1) * 0.6


def draw_footer(canvas: Canvas, at: At, size: At, result: Result) -> None:
    """Draw the approval lines and the cautions."""
    canvas.line(at, (at[0] + size[0], at[1]))
    asked = "Please read back every letter and number before you approve"
    texts = ", ".join(item.text for item in result.plan.texts)
    asked = f"{asked}: {texts}" if texts else f"{asked}."
    wide = size[0] - _SIGNED_MM - _APART_MM
    lines = _cut(canvas.wrapped(asked, wide, size=8.5, bold=True), 2)
    for number, line in enumerate(lines):
        canvas.text((at[0], at[1] + 5.0 + number * _READ_BACK_MM), line, size=8.5, bold=True)
    words = caution_words(result, hardware_of(result))
    order = result.recipe.order
    shown = (order.title, order.customer, order.code, order.spelling, texts)
    if any(legible(text) != text for text in shown):
        words = f"A box stands for a letter that this page cannot draw; the job sheet shows it. {words}"
    below = at[1] + 9.2 + (len(lines) - 1) * _READ_BACK_MM
    canvas.paragraph((at[0], below), canvas.wrapped(words, wide, size=7.2), size=7.2, fill=GREY)
    x = at[0] + size[0] - _SIGNED_MM
    if result.approval is not None:
        told = canvas.text((x, at[1] + 5.0), "Code of these files", size=7, fill=GREY)
        canvas.text((x + told + 2.0, at[1] + 5.0), result.approval.code, size=10, bold=True)
    for name, start, width in (("Approved by", x, 46.0), ("Date", x + 50.0, 24.0)):
        canvas.line((start, at[1] + 14.0), (start + width, at[1] + 14.0), fill=INK, width_mm=0.2)
        canvas.text((start, at[1] + 17.6), name, size=7, fill=GREY)


def _cut(lines: list[str], most: int) -> list[str]:
    """Keep the first lines; where some are left out the last one ends in "..."."""
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]} ..."]
