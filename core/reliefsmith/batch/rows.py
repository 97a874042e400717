"""The rows of a batch: a table in CSV or a folder of pictures, all of it checked before anything starts."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import RecipeError, ReliefsmithError
from ..recipe import Recipe
from ..recipe.asked import asked_recipe, parsed
from ..recipe.entries import keys_beside, spec_at, with_entries
from ..recipe.hints import nearest, shown
from ..recipe.recipe import known_keys
from ..recipe.settings import checked
from ..walk.inputs import PICTURES

__all__ = ["Row", "RowRecipe", "chosen", "numbered", "read_rows", "row_recipes"]

RowRecipe: TypeAlias = Callable[[Path | None, str | None, Mapping[str, Any]], Recipe]
"""Gives a row's recipe from its own recipe file, preset and settings, each over that of the command."""

_COPIES = "order.quantity"
_FILES = ("picture", "recipe", "preset")
_OWN = (*_FILES, "copies")
_MAX_BYTES, _MAX_ROWS, _MAX_CELL = 256 * 2**20, 1_000_000, 20_000
"""Of a table, far over a shop's week; characters of a cell, which may hold a list of marks."""
_MOST_DIGITS = 10  # of a row's number
_WORDS = ("text", "choice", "color")  # kinds whose values are words as they stand
_TOLD = 3  # faults that one line tells in full


@dataclass(frozen=True, slots=True)
class Row:
    """One piece that is to be made.

    Parameters
    ----------
    number : int
        From 1, in the order of the table or of the pictures' names.
    picture : Path
    recipe : Recipe
    """

    number: int
    picture: Path
    recipe: Recipe

    @property
    def name(self) -> str:
        """What its folder and files are called: its number, since names of people are nobody's business."""
        return f"{self.number:04d}"


def read_rows(source: Path, recipe: RowRecipe) -> tuple[Row, ...]:
    """Read a table or a folder of pictures as rows.

    A table in CSV (RFC 4180; a semicolon may stand for the comma) has a header. Its columns are `picture`,
    `recipe`, `preset`, `copies` and settings by their dotted keys, those of a list's tables with their number
    (`marks.1.value`); paths begin at the table's folder, and an empty cell leaves a setting to the command.

    Raises
    ------
    RecipeError
        If a cell cannot be used, in one line that names the row and the column; no row is given then.
    """
    if source.is_dir():
        found = sorted(path for path in source.iterdir() if _is_picture(path))
        if not found:
            raise RecipeError(f"there is no picture in the folder {source}; it takes {', '.join(PICTURES)}")
        common = recipe(None, None, {})
        return tuple(Row(number, path, common) for number, path in enumerate(found, 1))
    header, lines = _table(source)
    rows: list[Row] = []
    faults: list[str] = []
    for number, (line, cells) in enumerate(lines, 1):
        try:
            rows.append(_row(number, _cells(header, cells), source.parent, recipe))
        except _CellError as error:
            faults.append(f"row {number} (line {line}){error}")
    if faults:
        more = f"; and {len(faults) - _TOLD} more rows" if len(faults) > _TOLD else ""
        raise RecipeError(f"{source.name}: {'; '.join(faults[:_TOLD])}{more}")
    if not rows:
        raise RecipeError(f"{source} has a header and no rows; give each piece a row")
    return tuple(rows)


def row_recipes(path: Path | None, preset: str | None, sets: list[str] | None) -> RowRecipe:
    """Return what gives a row's recipe over a command's recipe file, preset and settings, each read once."""
    given = cache(lambda own, named: asked_recipe(own or path, named or preset, sets=sets))

    def of_row(own: Path | None, named: str | None, values: Mapping[str, Any]) -> Recipe:
        recipe: Recipe = given(own, named)
        return with_entries(recipe, values) if values else recipe

    return of_row


def chosen(rows: tuple[Row, ...], numbers: str | None) -> tuple[Row, ...]:
    """Return the rows of these numbers, such as "3,7-9", in their order; all of them where none is named.

    Raises
    ------
    RecipeError
        If a number is none, or no row's.
    """
    if numbers is None:
        return rows
    wanted: set[int] = set()
    for part in numbers.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        ends = (first, last if dash else first)
        if not all(end.isascii() and end.isdigit() and len(end) < _MOST_DIGITS for end in ends):
            raise RecipeError(f"--rows takes numbers of rows, such as 3,7-9, got {shown(numbers)}")
        low, high = map(int, ends)
        if not 1 <= low <= high <= len(rows):
            raise RecipeError(f"--rows has {part.strip()}, and the rows are 1 to {len(rows)}")
        wanted.update(range(low, high + 1))
    return tuple(row for row in rows if row.number in wanted)


def numbered(rows: Iterable[int]) -> str:
    """Return numbers of rows as `chosen` takes them.

    Examples
    --------
    >>> numbered([3, 7, 8, 9])
    '3,7-9'
    """
    spans: list[list[int]] = []
    for row in rows:
        if spans and spans[-1][-1] == row - 1:
            spans[-1][1:] = [row]
        else:
            spans.append([row])
    return ",".join("-".join(map(str, span)) for span in spans)


class _CellError(Exception):
    """What is wrong in a row; the message goes on after the row's name."""


def _is_picture(path: Path) -> bool:
    return path.suffix.lower() in PICTURES and not path.name.startswith(".") and path.is_file()


def _table(path: Path) -> tuple[tuple[str, ...], Sequence[tuple[int, list[str]]]]:
    """Return the names of the columns, and each row's line and cells; rows without a value are left out."""
    text = _text(path)
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
        _require_columns(path, header)
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((reader.line_num, cells))
            if len(lines) > _MAX_ROWS:
                raise RecipeError(f"{path} has more than {_MAX_ROWS} rows; split it")
    except csv.Error as error:
        raise RecipeError(f"{path} line {reader.line_num} is no CSV: {error}") from error
    return header, lines


def _text(path: Path) -> str:
    try:
        if path.exists() and not path.is_file():
            raise RecipeError(f"{path} is no ordinary file; give a table in CSV or a folder of pictures")
        if path.stat().st_size > _MAX_BYTES:
            raise RecipeError(f"{path} is larger than {_MAX_BYTES >> 20} MiB; split the table")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise RecipeError(f"{path} is no text in UTF-8; save the table as CSV in UTF-8") from error
    except FileNotFoundError as error:
        raise RecipeError(f"there is no table or folder at {path}; check the name") from error
    except (OSError, ValueError) as error:
        if isinstance(error, RecipeError):
            raise
        raise RecipeError(f"cannot read {path}: {getattr(error, 'strerror', None) or error}") from error


def _require_columns(path: Path, header: Sequence[str]) -> None:
    """Check the names of the columns."""
    known = [*_OWN, *(key for key in known_keys() if key != "schema")]
    for name in header:
        if name not in _OWN and spec_at(name) is None:
            what = f"a column {shown(name)}" if name else "a column without a name"
            raise RecipeError(
                f"{path} has {what}, which is no setting{nearest(name, [*known, *keys_beside(name)])}"
            )
    keys = [_key(name) for name in header]
    for name, key in zip(header, keys, strict=True):
        if keys.count(key) > 1:
            raise RecipeError(f"{path} has the column {name} twice; leave one out")
    if "picture" not in header:
        raise RecipeError(f"{path} has no column picture; name each row's picture there")


def _key(column: str) -> str:
    """Return the setting that a column gives."""
    return _COPIES if column == "copies" else column


def _cells(header: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """Return a row's cells that hold something, by column."""
    if len(cells) > len(header):
        raise _CellError(f" has {len(cells)} cells, and the table {len(header)} columns")
    return {name: cell.strip() for name, cell in zip(header, cells, strict=False) if cell.strip()}


def _row(number: int, cells: Mapping[str, str], folder: Path, recipe: RowRecipe) -> Row:
    given = cells.get("picture")
    if given is None:
        raise _CellError(", column picture: it is empty; name the picture")
    picture = folder / given
    if not picture.is_file():
        raise _CellError(f", column picture: there is no picture {shown(given)}; check the name")
    path = folder / cells["recipe"] if "recipe" in cells else None
    preset = cells.get("preset")
    values = {name: _value(_key(name), text) for name, text in cells.items() if name not in _FILES}
    try:
        made = recipe(path, preset, {_key(name): value for name, value in values.items()})
    except ReliefsmithError as error:
        raise _CellError(_at_fault(path, preset, values, recipe) or f": {error}") from error
    return Row(number, picture, made)


def _at_fault(path: Path | None, preset: str | None, values: Mapping[str, Any], recipe: RowRecipe) -> str:
    """Return the column that alone cannot be used, and why; "" where only all of them together cannot."""
    alone: list[tuple[str, Callable[[], object]]] = [
        ("recipe", lambda: recipe(path, None, {})),
        ("preset", lambda: recipe(None, preset, {})),
    ]
    for name, value in values.items():
        spec = spec_at(name)
        if spec is None or name in known_keys():
            alone.append((name, partial(recipe, None, None, {_key(name): value})))
        else:  # of one table in a list, which may need others beside it
            alone.append((name, partial(checked, name, value, spec)))
    for column, make in alone:
        try:
            make()
        except ReliefsmithError as error:
            return f", column {column}: {error}"
    return ""


def _value(key: str, text: str) -> Any:
    """Return a cell as the setting takes it: words as they stand, all else as `--set` reads it."""
    spec = spec_at(key)
    return text if spec is None or spec.kind in _WORDS else parsed(text)
