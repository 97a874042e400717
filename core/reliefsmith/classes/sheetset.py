"""The sheets of a class as a set of files: one page for each child, and a report that holds no names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from PIL import ImageFont

from ..documents.class_sheets import NAME_SIZES_MM, Child, sheets_html
from ..errors import RecipeError
from ..formats.claims import Claim, given_folder
from ..formats.classlayout import NAME_MM
from ..formats.setreading import REPORT_SUFFIX
from ..formats.setwriting import write_set

__all__ = ["KIND", "PAGE", "REPORT", "write_sheets"]

KIND = "class-sheets"
PAGE, REPORT = "sheets.html", f"sheets{REPORT_SUFFIX}"
_PT = 100
"""Size at which a name is measured."""
_WIDER = 1.12
"""How much wider than the font measured here another one may run."""


def write_sheets(names: Iterable[tuple[int, str]], output: str, claim: Claim) -> Mapping[str, Any]:
    """Write the sheets of children by number and name; the value is the report.

    Raises
    ------
    RecipeError
        If a name is too long for its line, in one line that does not quote it.
    OutputError
        If the folder cannot be written.
    """
    folder = given_folder(output)
    children = [Child(number, name, _size_mm(number, name)) for number, name in names]
    report = {"schema": 1, "kind": KIND, "rows": [child.number for child in children]}
    return write_set(folder, {PAGE: sheets_html(children)}, REPORT, report, claim)


def _size_mm(number: int, name: str) -> float:
    """Return the size at which a name has room on its line."""
    largest, smallest = NAME_SIZES_MM
    length = _WIDER * float(_font().getlength(name)) / _PT
    size = min(largest, NAME_MM / max(length, 1e-9))
    if size < smallest:
        raise RecipeError(f"row {number}: the name is too long for its line of {NAME_MM:g} mm; shorten it")
    return round(size, 2)


@cache
def _font() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(files("reliefsmith_data") / "fonts" / "Lato-Bold.ttf"), _PT)
