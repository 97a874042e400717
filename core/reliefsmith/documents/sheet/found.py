"""Findings and changes on the sheet: listed, and marked at their places on a drawing of the piece."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase

from ...findings import CODES, Note, Severity, count_words
from ...model import Result
from ..html import Markup, Piece, el, join, section
from ..legend import LegendEntry
from ..letterlist import back_pieces, lettering_pieces, texts_pieces
from ..views import Face
from ..wording import SEVERITY, changes_words, mm
from .numbered import numbered_areas
from .planview import Mark, marked_plan

__all__ = ["found_section", "letter"]

MOST_FINDINGS = 40
"""More findings than these are counted, not listed; the report has them all."""
MOST_CHANGES = 200
"""As many single changes are listed below their kinds."""
MARKS_A_KIND = 3
"""So many places of each kind of change get a letter, the others a dot: more hide the drawing."""
MOST_DOTS = 300

_SIGNS = {Severity.STOP: "■", Severity.WARN: "▲", Severity.NOTE: "●"}


def found_section(result: Result, face: Face, entries: Sequence[LegendEntry]) -> Markup:
    """Write findings (numbers, round marks) and kinds of changes (letters, square) beside the drawing."""
    kinds = _kinds(result.notes)
    marks = [
        Mark(str(order), item.at_mm[:2], round=True)
        for order, item in enumerate(result.findings[:MOST_FINDINGS], start=1)
        if item.at_mm is not None
    ]
    dots: list[tuple[float, float]] = []
    for order, kind in enumerate(kinds):
        places = [item.at_mm for item in kind if item.at_mm is not None]
        marks += [Mark(letter(order), place, round=False) for place in places[:MARKS_A_KIND]]
        dots += places[MARKS_A_KIND:]
    count = len(marks) + len(dots)
    words = f"The piece from above with {count} marked places" if count else "The piece from above"
    figure = el(
        "figure",
        marked_plan(face, entries, marks, dots=dots[:MOST_DOTS], title=words),
        el("figcaption", _key_words(marks, dots)),
    )
    lists = el(
        "div",
        *_shown(result),
        *texts_pieces(result),
        *back_pieces(result),
        *lettering_pieces(result),
        *_findings(result),
        *_changes(kinds, changes_words(result)),
    )
    pair = el("div", figure, lists, cls="pair wide-right")
    return section("findings", "Findings and changes", pair, *_areas(result))


def _areas(result: Result) -> list[Piece]:
    """Show the areas with their numbers, in a figure to open."""
    if not result.areas.numbered:
        return []
    words = "Marks in the recipe take a number in place of millimetres, as in "
    help_words = el("p", words, el("code", 'at = "area 1"'), "; the same numbers hold at every size.")
    summary = el("summary", f"The artwork by number: {count_words(len(result.areas.numbered), 'area')}")
    return [el("details", summary, help_words, el("figure", numbered_areas(result.areas)))]


def _key_words(marks: Sequence[Mark], dots: Sequence[tuple[float, float]]) -> str:
    words = []
    if any(mark.round for mark in marks):
        words.append("Round marks with numbers are findings.")
    if any(not mark.round for mark in marks):
        words.append("Square marks with letters are changes.")
    if dots:
        words.append("Dots are smaller changes of the same kinds.")
    return " ".join(words) or "The piece as it will be printed."


def _kinds(notes: Sequence[Note]) -> list[list[Note]]:
    """Group changes by code in the order of the work, within each the largest first."""
    kinds: dict[str, list[Note]] = {}
    for item in notes:
        kinds.setdefault(item.code, []).append(item)
    return [sorted(kind, key=lambda item: -(item.size_mm or 0.0)) for kind in kinds.values()]


def letter(order: int) -> str:
    """Count in letters: a, b, ..., z, aa, ab, ...

    Examples
    --------
    >>> letter(0), letter(25), letter(26), letter(52)
    ('a', 'z', 'aa', 'ba')
    """
    high, low = divmod(order, len(ascii_lowercase))
    return (letter(high - 1) if high else "") + ascii_lowercase[low]


def _shown(result: Result) -> list[Piece]:
    """Say how much of the picture is seen on the piece, and list what is not, the largest first."""
    fidelity = result.fidelity
    if fidelity is None:
        return []
    edges, paint = (f"{share * 100:.1f} %" for share in (fidelity.edges_kept, fidelity.paint_right))
    words = f"Seen from above, {edges} of its edges show, and {paint} of its area is in its color."
    items = [
        el(
            "li",
            f"{item.what}, {mm(item.size_mm)} mm",
            _place(item.at_mm),
            f". {item.remedy}" if item.remedy else "",
        )
        for item in fidelity.lost
    ]
    lost = [el("p", "What does not show:"), el("ul", *items)] if items else []
    return [el("h3", "The picture on the piece"), el("p", words), *lost]


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
        for order, item in enumerate(found[:MOST_FINDINGS], start=1)
    ]
    return [el("h3", "Findings"), el("ul", *items, cls="marked"), *_more(len(found) - MOST_FINDINGS)]


def _changes(kinds: Sequence[Sequence[Note]], count: str) -> list[Piece]:
    """List the kinds of changes; where there are many of a kind, the single ones stand in a list to open."""
    if not kinds:
        return [el("h3", "Changes"), el("p", "The drawing is printed as it came.")]
    items = [
        el("li", el("span", letter(order), cls="mark"), _kind_words(kind)) for order, kind in enumerate(kinds)
    ]
    blocks: list[Piece] = [el("h3", f"{count} made to the drawing"), el("ul", *items, cls="marked")]
    single = [item for kind in kinds for item in kind]
    if len(single) > len(kinds):
        lines = [el("li", item.message, _place(item.at_mm)) for item in single[:MOST_CHANGES]]
        summary = el("summary", f"All {count}, one by one")
        blocks.append(el("details", summary, el("ul", *lines), *_more(len(single) - MOST_CHANGES)))
    return blocks


def _kind_words(kind: Sequence[Note]) -> Piece:
    """Say one change as it was noted, several of a kind by what they have in common."""
    first = kind[0]
    if len(kind) == 1:
        return join(first.message, _place(first.at_mm))
    largest = f", the largest {mm(first.size_mm, 2)} mm" if first.size_mm else ""
    return join(f"{CODES[first.code].meaning} {len(kind)} places{largest}", _place(first.at_mm))


def _place(at_mm: Sequence[float] | None) -> Piece:
    """Write a place in mm from the middle of the artwork, as marks in a recipe take it."""
    if at_mm is None:
        return ""
    numbers = ", ".join(mm(value) for value in at_mm[:2])
    return join(" ", el("span", f"at {numbers} mm", cls="place"))


def _more(left: int) -> list[Piece]:
    return [el("p", f"{left} more in the report.")] if left > 0 else []
