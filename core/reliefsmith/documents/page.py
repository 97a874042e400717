"""A page of our own: one self-contained HTML file that asks nothing of the network."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib.resources import files

from .html import Markup, el, join

__all__ = ["asset", "page", "png_data"]


def page(title: str, body: Markup, style: str, script: str = "") -> bytes:
    """Write a page as UTF-8: style and script stand inside, and its policy allows just these and pictures.

    Parameters
    ----------
    title : str
        Any text; escaped.
    body : Markup
        The body element, script included.
    style, script : str
        As they stand in the page; the policy names their hashes.
    """
    rules = [
        "default-src 'none'",
        "img-src data:",
        f"style-src {_hash(style)}",
        f"script-src {_hash(script)}" if script else "script-src 'none'",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", http_equiv="Content-Security-Policy", content="; ".join(rules)),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", name="color-scheme", content="light"),
        el("meta", name="referrer", content="no-referrer"),
        el("title", title),
        el("style", Markup(style)),
    )
    return join(Markup("<!DOCTYPE html>\n"), el("html", head, body, lang="en"), "\n").encode()


@cache
def asset(name: str) -> str:
    """Return a file beside this module, its lines ending alike on every system."""
    text = (files(__package__) / name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")


def png_data(png: bytes) -> str:
    """Return a picture as the address of an image element."""
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")


def _hash(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    return f"'sha256-{digest}'"
