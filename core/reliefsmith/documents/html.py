"""HTML as values: text and attributes of elements are always escaped, so no field can smuggle markup."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

from ..formats.markup import xml_text

__all__ = ["Markup", "Piece", "el", "facts", "join", "listing", "section", "swatch", "table"]

_VOID = frozenset({"br", "circle", "col", "hr", "img", "input", "link", "meta", "path", "rect", "line"})


class Markup(str):
    """Text that is markup already and is written as it is."""

    __slots__ = ()


Piece: TypeAlias = "str | Iterable[Piece]"


def join(*pieces: Piece) -> Markup:
    """Write pieces one after another, plain text escaped.

    Examples
    --------
    >>> join("a < b ", el("b", "c & d"))
    'a &lt; b <b>c &amp; d</b>'
    """
    return Markup("".join(_written(piece) for piece in pieces))


def el(name: str, /, *pieces: Piece, **attributes: str | bool) -> Markup:
    """Write an element; in attribute names "_" stands for "-", and `cls` is the class.

    Examples
    --------
    >>> el("p", "2 > 1", cls="note", aria_label='"so"')
    '<p class="note" aria-label="&quot;so&quot;">2 &gt; 1</p>'
    >>> el("input", disabled=True, hidden=False)
    '<input disabled>'
    """
    words = [name]
    for key, value in attributes.items():
        label = "class" if key == "cls" else key.rstrip("_").replace("_", "-")
        if value is True:
            words.append(label)
        elif value is not False:
            words.append(f'{label}="{xml_text(value)}"')
    start = " ".join(words)
    if name in _VOID:
        # Inside SVG a void element closes itself; in HTML the stroke is ignored, so none is written.
        return Markup(f"<{start}/>" if name in {"circle", "path", "rect", "line"} else f"<{start}>")
    return Markup(f"<{start}>{join(*pieces)}</{name}>")


def section(anchor: str, title: str, *pieces: Piece) -> Markup:
    """Write a section with its heading, which names it for screen readers."""
    heading = el("h2", title, id=f"{anchor}-title")
    return el("section", heading, *pieces, id=anchor, aria_labelledby=f"{anchor}-title")


def table(
    head: Sequence[str], rows: Iterable[Sequence[Piece]], *, caption: str, quiet: bool = False
) -> Markup:
    """Write a table whose first column names its rows; a quiet caption is only heard."""
    top = el("tr", *(el("th", words, scope="col") for words in head))
    body = [
        el(
            "tr",
            el("th", row[0], scope="row"),
            *(el("td", cell, data_head=words) for cell, words in zip(row[1:], head[1:], strict=True)),
        )
        for row in rows
    ]
    return el(
        "table", el("caption", caption, cls="heard" if quiet else False), el("thead", top), el("tbody", *body)
    )


def facts(rows: Iterable[tuple[str, Piece]]) -> Markup:
    """Write a list of names and values."""
    return el("dl", *(el("div", el("dt", name), el("dd", value)) for name, value in rows))


def listing(items: Iterable[Piece], *, ordered: bool = False, cls: str = "") -> Markup:
    """Write a list."""
    entries = [el("li", item) for item in items]
    return el("ol" if ordered else "ul", *entries, cls=cls or False)


def swatch(color: str) -> Markup:
    """Draw a plain field of a color, "#rrggbb", to stand in a line of text."""
    shape = el("rect", width="100%", height="100%", fill=color, stroke="#22262b")
    return el("svg", shape, cls="swatch", aria_hidden="true")


def _written(piece: Piece) -> str:
    if isinstance(piece, Markup):
        return piece
    return xml_text(piece) if isinstance(piece, str) else join(*piece)
