"""The list of a class: a number for each child, and what its row of a batch is to say beside the picture."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from pathlib import Path

from ..errors import RecipeError
from ..formats.sheetnumber import MOST_NUMBER
from .columns import CellError, Cells, read_lines
from .rows import recipe_of, row_recipes

__all__ = ["Listed", "read_list"]

_OWN = ("name", "preset", "copies", "row")
_FOR_WHOM = "order.customer"
_CONTROLS = ("Cc", "Cs", "Zl", "Zp")
"""Categories of characters that stand for no letter: a name with one was pasted wrongly."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One child or member.

    Parameters
    ----------
    number : int
        Of the sheet and of the row of the batch.
    name : str
    cells : mapping
        What the row says, by the columns of a batch's table: `name` is for whom the piece is.
    """

    number: int
    name: str
    cells: Cells


def read_list(source: str) -> tuple[Listed, ...]:
    """Read a list in CSV with a column `name` and, where wanted, others of a batch's table; or just count.

    Parameters
    ----------
    source : str
        A file, or how many there are, who stay without names.

    Raises
    ------
    RecipeError
        In one line, if it is none.
    """
    if source.isascii() and source.isdigit():
        if not 1 <= int(source[:9]) <= MOST_NUMBER:
            raise RecipeError(f"a class has 1 to {MOST_NUMBER} sheets, got {source[:12]}")
        return tuple(Listed(number, "", {}) for number in range(1, int(source) + 1))
    path = Path(source)
    recipe = row_recipes(None, None, None)

    def build(number: int, cells: Cells) -> Listed:
        if number > MOST_NUMBER:
            raise CellError(f": a sheet's number is at most {MOST_NUMBER}; make two classes")
        if filled := next((key for key in cells if key.startswith("artwork.")), ""):
            raise CellError(f", column {filled}: the photographs say that; leave it out")
        name = cells.get("name", "")
        if any(unicodedata.category(char) in _CONTROLS for char in name):
            raise CellError(", column name: it holds a control character; type the name anew")
        recipe_of({key: cell for key, cell in cells.items() if key != "name"}, path.parent, recipe)
        said = {key: cell for key, cell in cells.items() if key not in ("name", "row")}
        return Listed(number, name, {_FOR_WHOM: name, **said} if name else said)

    return read_lines(path, build, own=_OWN, needed="name", what="list")
