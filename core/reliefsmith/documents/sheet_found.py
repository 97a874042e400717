"""Findings and changes on the sheet: listed, and marked at their places on a drawing of the piece."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase

from ..findings import Severity
from ..model import Result
from .html import Markup, Piece, el, join, section
from .legend import LegendEntry
from .piece import Face
from .places import Mark, marked_plan
from .wording import SEVERITY, mm

__all__ = ["found_section"]

MOST_LISTED = 40
"""More findings or changes than these are counted, not listed; the report has them all."""
MOST_MARKED = 24
"""More marks than these hide the drawing."""

_SIGNS = {Severity.STOP: "■", Severity.WARN: "▲", Severity.NOTE: "●"}


def found_section(result: Result, face: Face, entries: Sequence[LegendEntry]) -> Markup:
    """Write findings (numbers, round marks) and changes (letters, square marks) beside the drawing."""
    findings, notes = result.findings, result.notes
    marks = [
        Mark(str(order), item.at_mm[:2], round=True)
        for order, item in enumerate(findings[:MOST_LISTED], start=1)
        if item.at_mm is not None
    ]
    marks += [
        Mark(letter(order), item.at_mm, round=False)
        for order, item in enumerate(notes[:MOST_LISTED])
        if item.at_mm is not None
    ]
    marks = marks[:MOST_MARKED]
    words = f"The piece from above with {len(marks)} marked places" if marks else "The piece from above"
    figure = el(
        "figure",
        marked_plan(face, entries, marks, title=words),
        el("figcaption", "Round marks with numbers are findings, square ones with letters are changes."),
    )
    lists = el("div", *_findings(result), *_changes(result))
    return section("findings", "Findings and changes", el("div", figure, lists, cls="pair wide-right"))


def letter(order: int) -> str:
    """Count in letters: a, b, ..., z, aa, ab, ...

    Examples
    --------
    >>> letter(0), letter(25), letter(26), letter(52)
    ('a', 'z', 'aa', 'ba')
    """
    high, low = divmod(order, len(ascii_lowercase))
    return (letter(high - 1) if high else "") + ascii_lowercase[low]


def _findings(result: Result) -> list[Piece]:
    found = result.findings
    if not found:
        return [el("h3", "Findings"), el("p", "Nothing found that stands against printing.")]
    items = [
        el(
            "li",
            el("span", str(order), cls="mark round"),
            el("strong", f"{_SIGNS[item.severity]} {SEVERITY[item.severity]}: ", cls=item.severity.value),
            item.message,
            _place(item.at_mm),
        )
        for order, item in enumerate(found[:MOST_LISTED], start=1)
    ]
    return [el("h3", "Findings"), el("ul", *items, cls="marked"), *_more(len(found))]


def _changes(result: Result) -> list[Piece]:
    notes = result.notes
    if not notes:
        return [el("h3", "Changes"), el("p", "The drawing is printed as it came.")]
    items = [
        el("li", el("span", letter(order), cls="mark"), item.message, _place(item.at_mm))
        for order, item in enumerate(notes[:MOST_LISTED])
    ]
    return [el("h3", "Changes made to the drawing"), el("ul", *items, cls="marked"), *_more(len(notes))]


def _place(at_mm: Sequence[float] | None) -> Piece:
    """Write a place in mm from the middle of the artwork, as marks in a recipe take it."""
    if at_mm is None:
        return ""
    numbers = ", ".join(mm(value) for value in at_mm[:2])
    return join(" ", el("span", f"at {numbers} mm", cls="place"))


def _more(count: int) -> list[Piece]:
    left = count - MOST_LISTED
    return [el("p", f"{left} more in the report.")] if left > 0 else []
