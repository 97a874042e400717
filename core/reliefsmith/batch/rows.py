"""The rows of a batch: a table in CSV or a folder of pictures, all of it checked before anything starts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import RecipeError, ReliefsmithError
from ..recipe import Recipe
from ..recipe.asked import asked_recipe, parsed
from ..recipe.entries import spec_at, with_entries
from ..recipe.hints import shown
from ..recipe.recipe import known_keys
from ..recipe.settings import checked
from ..recipe.tomlfile import found_from
from ..walk.inputs import PICTURES
from .columns import MOST_DIGITS, OWN, CellError, Cells, read_lines, setting_of
from .unnamed import unnamed

__all__ = ["Row", "RowRecipe", "chosen", "file_stem", "numbered", "read_rows", "recipe_of", "row_recipes"]

RowRecipe: TypeAlias = Callable[[Path | None, str | None, Mapping[str, Any]], Recipe]
"""Gives a row's recipe from its own recipe file, preset and settings, each over that of the command."""

_NO_SETTINGS = ("picture", "recipe", "preset", "row")
_WORDS = ("text", "choice", "color")  # kinds whose values are words as they stand


@dataclass(frozen=True, slots=True)
class Row:
    """One piece that is to be made.

    Parameters
    ----------
    number : int
        From 1: as the table's column `row` says, else by the order of the table or of the pictures' names.
    picture : Path
    recipe : Recipe
    """

    number: int
    picture: Path
    recipe: Recipe

    @property
    def name(self) -> str:
        """What its folder and files are called: its number, since names of people are nobody's business."""
        return file_stem(self.number)


def file_stem(number: int) -> str:
    """Return what folder and files of a row are called."""
    return f"{number:04d}"


def read_rows(source: Path, recipe: RowRecipe, *, named: bool = False) -> tuple[Row, ...]:
    """Read a table or a folder of pictures as rows.

    The columns of a table are `picture`, `recipe`, `preset`, `copies`, `row` (its number, where that is not
    its place) and settings by their dotted keys, those of a list's tables with their number
    (`marks.1.value`); paths begin at the table's folder, and an empty cell leaves a setting to the command.
    Errors quote what a cell holds only where it is `named`, since it may be somebody's name.

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

    def build(number: int, cells: Cells) -> Row:
        try:
            return _row(number, cells, source.parent, recipe)
        except CellError as error:
            private = [text for column, text in cells.items() if column != "preset"]
            files = [
                file for text in private if Path(text).suffix for file in (source.parent / text, Path(text))
            ]
            raise CellError(str(error) if named else unnamed(str(error), private, files)) from error

    return read_lines(
        source,
        build,
        own=OWN,
        needed="picture",
        what="table or folder",
    )


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
    known = {row.number for row in rows}
    wanted: set[int] = set()
    for part in numbers.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        ends = (first, last if dash else first)
        if not all(end.isascii() and end.isdigit() and len(end) < MOST_DIGITS for end in ends):
            raise RecipeError(f"--rows takes numbers of rows, such as 3,7-9, got {shown(numbers)}")
        low, high = map(int, ends)
        if low > high or not {low, high} <= known:
            raise RecipeError(f"--rows has {part.strip()}, and the rows are {numbered(sorted(known))}")
        wanted.update(number for number in known if low <= number <= high)
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


def _is_picture(path: Path) -> bool:
    return path.suffix.lower() in PICTURES and not path.name.startswith(".") and path.is_file()


def _row(number: int, cells: Cells, folder: Path, recipe: RowRecipe) -> Row:
    given = cells.get("picture")
    if given is None:
        raise CellError(", column picture: it is empty; name the picture")
    picture = folder / given
    if not picture.is_file():
        raise CellError(f", column picture: there is no picture {shown(given)}; check the name")
    return Row(number, picture, recipe_of(cells, folder, recipe))


def recipe_of(cells: Cells, folder: Path, recipe: RowRecipe) -> Recipe:
    """Return the recipe that a row's cells ask for.

    Raises
    ------
    CellError
        If one of them cannot be used.
    """
    path = folder / cells["recipe"] if "recipe" in cells else None
    preset = cells.get("preset")
    values = {
        name: found_from(folder, setting_of(name), _value(setting_of(name), text))
        for name, text in cells.items()
        if name not in _NO_SETTINGS
    }
    try:
        return recipe(path, preset, {setting_of(name): value for name, value in values.items()})
    except ReliefsmithError as error:
        raise CellError(_at_fault(path, preset, values, recipe) or f": {error}") from error


def _at_fault(path: Path | None, preset: str | None, values: Mapping[str, Any], recipe: RowRecipe) -> str:
    """Return the column that alone cannot be used, and why; "" where only all of them together cannot."""
    alone: list[tuple[str, Callable[[], object]]] = [
        ("recipe", lambda: recipe(path, None, {})),
        ("preset", lambda: recipe(None, preset, {})),
    ]
    for name, value in values.items():
        spec = spec_at(name)
        if spec is None or name in known_keys():
            alone.append((name, partial(recipe, None, None, {setting_of(name): value})))
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
