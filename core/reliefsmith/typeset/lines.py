"""Texts of several lines, one under the other round one anchor."""

from __future__ import annotations

import numpy as np
import shapely

from ..polygons import as_multi
from .along import Path, set_along
from .standing import Type

__all__ = ["LINE_BREAK", "lines_of", "set_lines"]

LINE_BREAK = "|"
"""Begins a new line: a sign that a cell of a table, a command's word and a field of a form can all hold."""

_LEADING = 1.7
"""From line to line in heights of capitals, the least gap added: 1.2 times the font's size, the usual leading
(common practice, no source)."""


def lines_of(text: str) -> list[str]:
    """Return the lines of a text.

    Examples
    --------
    >>> lines_of("Mirabel | Larkwater 7")
    ['Mirabel', 'Larkwater 7']
    """
    return [line.strip() for line in text.split(LINE_BREAK)]


def set_lines(text: str, how: Type, path: Path, align: str = "center") -> shapely.MultiPolygon:
    """Set a text along a path as `set_along` does, its lines under each other, their middle at the anchor.

    Raises
    ------
    RecipeError
        As `set_along`.
    """
    lines = lines_of(text)
    pitch, middle = _LEADING * how.size_mm + how.gap_mm, (len(lines) - 1) / 2
    found = []
    for number, line in enumerate(lines):
        made = set_along(line, how, path, align)
        rise = np.array((0.0, (middle - number) * pitch))
        found += shapely.transform(made, lambda points, up=rise: points + up).geoms
    return as_multi(found)
