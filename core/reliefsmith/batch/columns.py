"""A table in CSV before its cells are understood: names of columns, and lines of cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from typing import TypeAlias, TypeVar

from ..errors import RecipeError
from ..recipe.entries import keys_beside, spec_at
from ..recipe.hints import nearest, shown, spelled
from ..recipe.recipe import known_keys

__all__ = ["MOST_DIGITS", "OWN", "CellError", "Cells", "read_lines", "setting_of"]

COPIES = "order.quantity"
OWN = ("picture", "recipe", "preset", "copies", "row")
"""Columns that are no settings."""
_MAX_BYTES, _MAX_ROWS, _MAX_CELL = 256 * 2**20, 1_000_000, 20_000
"""Of a table, far over a shop's week; characters of a cell, which may hold a list of marks."""

Cells: TypeAlias = Mapping[str, str]
"""What is in the cells of a row, by their columns; empty ones are left out."""
Lines: TypeAlias = Sequence[tuple[int, list[str]]]
"""The line of each row in its file, and its cells."""
T = TypeVar("T")

MOST_DIGITS = 10  # of a row's number
_TOLD = 3  # faults that one line tells in full


class CellError(Exception):
    """What is wrong in a row; the message goes on after the row's name."""


def read_lines(
    path: Path, build: Callable[[int, Cells], T], *, own: Collection[str], needed: str, what: str
) -> tuple[T, ...]:
    """Read the rows of a table in CSV (RFC 4180; a semicolon may stand for the comma) that has a header.

    Parameters
    ----------
    path : Path
    build : callable
        Makes a row of its number and its cells, or raises `CellError`. Its number is what its cell in the
        column `row` says, else its place; rows without a value are left out and not counted.
    own : collection of str
        Columns that are no settings.
    needed : str
        The column that must be there.
    what : str
        What is looked for at the path.

    Returns
    -------
    tuple
        Of what was built, by rising number.

    Raises
    ------
    RecipeError
        If it is no table of such columns, or a cell cannot be used, in one line that names row and column.
    """
    header, lines = _lines_of(path, own, needed, what)
    rows: dict[int, T] = {}
    faults: list[str] = []
    for place, (line, cells) in enumerate(lines, 1):
        number = place
        try:
            found = _cells_by_column(header, cells)
            number = _number(found, place, rows)
            rows[number] = build(number, found)
        except CellError as error:
            faults.append(f"row {number} (line {line}){error}")
    if faults:
        more = f"; and {len(faults) - _TOLD} more rows" if len(faults) > _TOLD else ""
        raise RecipeError(f"{path.name}: {'; '.join(faults[:_TOLD])}{more}")
    if not rows:
        raise RecipeError(f"{path} has a header and no rows; give each piece a row")
    return tuple(rows[number] for number in sorted(rows))


def setting_of(column: str) -> str:
    """Return the setting that a column gives."""
    return COPIES if column == "copies" else column


def _lines_of(path: Path, own: Collection[str], needed: str, what: str) -> tuple[tuple[str, ...], Lines]:
    """Return the names of the columns, and each row's line and cells; rows without a value are left out."""
    text = _text(path, what)
    first = text.partition("\n")[0]
    reader = csv.reader(
        io.StringIO(text, newline=""),
        delimiter=";" if ";" in first and "," not in first else ",",
        strict=True,
    )
    csv.field_size_limit(_MAX_CELL)
    lines: list[tuple[int, list[str]]] = []
    try:
        header = tuple(name.strip() for name in next(reader, []))
        _require_columns(path, header, own, needed)
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((reader.line_num, cells))
            if len(lines) > _MAX_ROWS:
                raise RecipeError(f"{path} has more than {_MAX_ROWS} rows; split it")
    except csv.Error as error:
        raise RecipeError(f"{path} line {reader.line_num} is no CSV: {error}") from error
    return header, lines


def _cells_by_column(header: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """Return a row's cells that hold something, by column."""
    if len(cells) > len(header):
        raise CellError(f" has {len(cells)} cells, and the table {len(header)} columns")
    return {name: cell.strip() for name, cell in zip(header, cells, strict=False) if cell.strip()}


def _number(cells: Cells, place: int, taken: Collection[int]) -> int:
    text = cells.get("row", str(place))
    if not (text.isascii() and text.isdigit() and len(text) < MOST_DIGITS and int(text)):
        raise CellError(", column row: it is no whole number from 1 on")
    if int(text) in taken:
        raise CellError(f", column row: another row has the number {int(text)}; give each its own")
    return int(text)


def _text(path: Path, what: str) -> str:
    try:
        if path.exists() and not path.is_file():
            raise RecipeError(f"{path} is no ordinary file; give a {what}")
        if path.stat().st_size > _MAX_BYTES:
            raise RecipeError(f"{path} is larger than {_MAX_BYTES >> 20} MiB; split the table")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise RecipeError(f"{path} is no text in UTF-8; save the table as CSV in UTF-8") from error
    except FileNotFoundError as error:
        raise RecipeError(f"there is no {what} at {path}; check the name") from error
    except (OSError, ValueError) as error:
        if isinstance(error, RecipeError):
            raise
        raise RecipeError(f"cannot read {path}: {getattr(error, 'strerror', None) or error}") from error


def _require_columns(path: Path, header: Sequence[str], own: Collection[str], needed: str) -> None:
    """Check the names of the columns."""
    known = [*own, *(key for key in known_keys() if key != "schema")]
    if not any(name in own or spec_at(name) or spelled(name, known) for name in header):  # a row as the first
        raise RecipeError(f"{path} has no column {needed}; write the names of the columns above its rows")
    for name in header:
        if name not in own and spec_at(name) is None:
            what = f"a column {shown(name)}" if name else "a column without a name"
            hint = nearest(name, [*known, *keys_beside(name)])
            raise RecipeError(f"{path} has {what}, which is no setting{hint}")
    keys = [setting_of(name) for name in header]
    for name, key in zip(header, keys, strict=True):
        if keys.count(key) > 1:
            raise RecipeError(f"{path} has the column {name} twice; leave one out")
    if needed not in header:
        raise RecipeError(f"{path} has no column {needed}; name each row's {needed} there")
