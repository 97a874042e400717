"""Reading an HTML page in tests, with nothing but the standard library."""

from __future__ import annotations

import re
from html.parser import HTMLParser

VOID = {"meta", "img", "br", "hr", "input", "link", "col"}


class Page(HTMLParser):
    """A parsed page: its elements with attributes in order, the text of each kind of element, its nesting."""

    def __init__(self, html: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.feed(html.decode("utf-8"))
        self.close()
        assert self.open == [], f"not closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open[-1:] == [tag], f"</{tag}> closes {self.open[-1:]}"
        self.open.pop()

    def handle_data(self, data):
        self.texts.append((self.open[-1] if self.open else "", data))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of every element of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]

    def text(self) -> str:
        """Return what is read: all text but style and script, spaces made single."""
        words = " ".join(data for tag, data in self.texts if tag not in {"style", "script"})
        return re.sub(r"\s+", " ", words)
