"""Words of errors without what a row says: names of people are nobody's business but the row's."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from ..recipe import Recipe

__all__ = ["texts_of", "unnamed"]

_QUOTED = re.compile(r"""'(?:[^'\\]|\\.)*(?:'|\.\.\.)|"(?:[^"\\]|\\.)*(?:"|\.\.\.)""")
_INSTEAD = "'...'"
_PICTURE, _FILE = "its picture", "its file"


def unnamed(message: str, said: Iterable[str], files: Iterable[Path] = ()) -> str:
    """Return an error's words with dots in place of any quoted part of what a row says.

    Parameters
    ----------
    message : str
    said : iterable of str
        Texts of the row.
    files : iterable of Path
        Those that the row names, called "its picture" or "its file" instead.

    Examples
    --------
    >>> unnamed("the letters of 'bel' break; see tobin.png", ["Mirabel"], [Path("class/tobin.png")])
    "the letters of '...' break; see its file"
    """
    files = list(files)
    texts = [text.casefold() for text in (*said, *map(str, files))]

    def hidden(match: re.Match[str]) -> str:
        part = match[0].strip("'\"").removesuffix("...").strip().casefold()
        return _INSTEAD if any(part in text for text in texts) else match[0]

    message = _QUOTED.sub(hidden, message)
    for word in (word for file in files for word in (str(file), file.name)):
        message = message.replace(f"picture {word}", _PICTURE).replace(word, _FILE)
    return message


def texts_of(recipe: Recipe) -> list[str]:
    """Return every text of a recipe that is the user's own, such as for whom a piece is and what it reads."""
    order = recipe.order
    said = [order.title, order.customer, order.code, order.reference, order.spelling, order.rights]
    said += [order.hardware, order.deadline, *(item.text for item in recipe.lettering)]
    said += [mark.words for mark in recipe.marks if mark.words]
    return [text for text in said if text]
