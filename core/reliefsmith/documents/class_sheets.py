"""The sheets of a class to draw on: a page for each child, true to size on A4 and on US letter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..findings import count_words
from ..formats import classlayout as layout
from ..formats.sheetnumber import cells_of
from .html import Markup, el
from .page import asset, page

__all__ = ["NAME_SIZES_MM", "Child", "sheet_svg", "sheets_html"]

NAME_SIZES_MM = (6.0, 3.2)
"""Largest and smallest height of a name's letters from line to line."""
_INK, _QUIET = "#000000", "#555555"
_RIM_MM = 0.4  # of the line round a cell: thin beside a filled one
_DIGITS_MM = (11.0, 30.0)
"""Height of the number's digits at most, and of all of them together."""


@dataclass(frozen=True, slots=True)
class Child:
    """Whose sheet it is.

    Parameters
    ----------
    number : int
    name : str
        As it is printed on the sheet; may be empty.
    name_mm : float
        Size of its letters.
    """

    number: int
    name: str = ""
    name_mm: float = NAME_SIZES_MM[0]


def sheets_html(children: Sequence[Child]) -> bytes:
    """Write the sheets as one self-contained HTML file in UTF-8.

    Each page is a drawing of the frame in millimetres, which a browser prints true to size unless it is told
    to fit the page; the ruler on it shows.
    """
    title = f"{count_words(len(children), 'sheet')} to draw on"
    help_words = (
        "Print on white A4 or letter paper at 100 %, not fitted to the page, one side. The ruler under each"
        " field must be 100 mm long; sheets that came out smaller are read all the same."
    )
    body = el("body", el("p", help_words, cls="help"), el("main", *map(sheet_svg, children)))
    return page(title, body, asset("classsheets.css"))


def sheet_svg(child: Child) -> Markup:
    """Draw one sheet."""
    width, height = layout.FRAME_MM
    return el(
        "svg",
        *(piece for at in layout.MARKS for piece in _mark(at)),
        *_field(),
        *_heading(child),
        *_cells(child.number),
        _digits(str(child.number)),
        *_ruler(),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:g} {height:g}",
        width=f"{width:g}mm",
        height=f"{height:g}mm",
        role="img",
        aria_label=f"Sheet {child.number}",
    )


def _mark(at: tuple[float, float]) -> Iterator[Markup]:
    for inset, fill in zip(layout.RINGS_MM, (_INK, "#ffffff", _INK), strict=True):
        side = layout.MARK_MM - 2 * inset
        yield _rect(at[0] + inset, at[1] + inset, side, side, fill=fill)


def _field() -> Iterator[Markup]:
    left, top, right, low = layout.FIELD
    yield _rect(
        left, top, right - left, low - top, fill="none", stroke=_INK, stroke_width=f"{layout.LINE_MM:g}"
    )


def _heading(child: Child) -> Iterator[Markup]:
    left = layout.MARK_MM + 6
    yield _text("Draw within the line, large and in few colors.", left, 4.2, 3.6, fill=_QUIET)
    yield _line(left + 34, 14.5, left + 34 + layout.NAME_MM, 14.5, 0.25)
    yield _text(f"Sheet {child.number}", left, 13.2, 4.4, font_weight="bold")
    if child.name:  # a font that runs wider is held to the line
        fit = {"textLength": f"{layout.NAME_MM - 2:g}", "lengthAdjust": "spacingAndGlyphs"}
        held = fit if child.name_mm < NAME_SIZES_MM[0] else {}
        yield _text(child.name, left + 35, 13.2, child.name_mm, **held)


def _cells(number: int) -> Iterator[Markup]:
    for row, cells in enumerate(cells_of(number)):
        for column, dark in enumerate(cells):
            x, y = layout.cell_at(row, column)
            inner = layout.CELL_MM - _RIM_MM
            fill = _INK if dark else "none"
            place = (x + _RIM_MM / 2, y + _RIM_MM / 2, inner, inner)
            yield _rect(*place, fill=fill, stroke=_INK, stroke_width=f"{_RIM_MM:g}")


def _digits(number: str) -> Markup:
    """Write the number beside its cells, well away from the mark however long it is."""
    size = min(_DIGITS_MM[0], _DIGITS_MM[1] / len(number))
    return _text(number, 138, layout.CELLS_AT[1] + 8 + size / 3, size, font_weight="bold")


def _ruler() -> Iterator[Markup]:
    left, y, right = layout.RULER
    yield _line(left, y, right, y, 0.25)
    for step in range(11):
        x = left + step * (right - left) / 10
        yield _line(x, y - (1.6 if step % 5 == 0 else 1.0), x, y, 0.25)
    yield _text(f"{right - left:g} mm", right + 2, y + 0.3, 3.2, fill=_QUIET)


def _rect(x: float, y: float, width: float, height: float, **drawn: str) -> Markup:
    return el("rect", x=f"{x:g}", y=f"{y:g}", width=f"{width:g}", height=f"{height:g}", **drawn)


def _line(x0: float, y0: float, x1: float, y1: float, wide: float) -> Markup:
    ends = {"x1": f"{x0:g}", "y1": f"{y0:g}", "x2": f"{x1:g}", "y2": f"{y1:g}"}
    return el("line", **ends, stroke=_INK, stroke_width=f"{wide:g}")


def _text(words: str, x: float, y: float, size: float, **drawn: str) -> Markup:
    look = {"fill": _INK, "font_weight": "normal", **drawn}
    return el("text", words, x=f"{x:g}", y=f"{y:g}", font_size=f"{size:g}", **look)
