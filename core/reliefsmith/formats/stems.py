"""File stems that every system accepts, and paths as they may stand in a one-line message."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

__all__ = ["FALLBACK_STEM", "printable", "safe_stem"]

MAX_STEM_BYTES = 100
"""UTF-8; leaves room for a part's name and a suffix in the 255 bytes that file systems allow a name."""
FALLBACK_STEM = "relief"
_KEPT_CATEGORIES = ("L", "M", "Nd")
"""Letters, the marks that belong to them in many scripts, and digits."""
_KEPT = frozenset(" ._-")
_DEVICES = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|com[0-9¹²³]|lpt[0-9¹²³])(\..*)?", re.IGNORECASE)
"""Names that Windows keeps for devices, with any suffix."""


def safe_stem(name: str) -> str:
    """Make a file stem of any text: what is no letter, digit, space, ".", "_" or "-" becomes "_".

    The result is in NFC, starts with neither dot, dash nor space, ends with neither dot nor space, is no
    device name, has 100 bytes at most, is never empty, and is its own safe stem.

    Examples
    --------
    >>> safe_stem("héron & reed"), safe_stem("../-x"), safe_stem("nul.tar"), safe_stem("")
    ('héron _ reed', '_._-x', '_nul.tar', 'relief')
    """
    text = "".join(char if _stays(char) else "_" for char in unicodedata.normalize("NFC", name))
    text = text.strip(" ").rstrip(" .")
    if text.startswith((".", "-")):
        text = f"_{text[1:]}"
    if _DEVICES.fullmatch(text):
        text = f"_{text}"
    return text.encode()[:MAX_STEM_BYTES].decode(errors="ignore").rstrip(" .") or FALLBACK_STEM


def printable(path: Path | str) -> str:
    r"""Write a path on one line: characters that are not printable become "?".

    Examples
    --------
    >>> printable("kite\n.3mf")
    'kite?.3mf'
    """
    return "".join(char if char.isprintable() else "?" for char in str(path))


def _stays(char: str) -> bool:
    return char in _KEPT or unicodedata.category(char).startswith(_KEPT_CATEGORIES)
