"""Photographs of a class's sheets to rows of a batch: pictures called by number, a table, those not used."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, TypeAlias

from PIL import Image

from ..documents.unread_page import Unread, unread_html
from ..errors import OutputError, RecipeError, ReliefsmithError
from ..formats.claims import Claim, given_folder
from ..formats.setreading import REPORT_SUFFIX
from ..formats.setwriting import write_set
from ..formats.tablefile import Cell, csv_bytes
from ..walk.inputs import PICTURES

__all__ = ["KIND", "REPORT", "TABLE", "UNREAD", "Collected", "collect", "remove_row"]

RowsShown: TypeAlias = Callable[[int, int], AbstractContextManager[Callable[[], None]]]

KIND = "class-photographs"
TABLE, UNREAD, REPORT = "class.csv", "unread.html", f"class{REPORT_SUFFIX}"
_MOST = 1000
"""Photographs of one run, whose drawings are held until all are written."""
_QUALITY = 92  # of the JPEG of a drawing, fine beside a photograph's own (common practice, no source)
_FIRST = ("row", "picture", "artwork.kind")


@dataclass(frozen=True, slots=True)
class Collected:
    """What was written.

    Parameters
    ----------
    report : mapping
        As written.
    unread : tuple of Unread
        Photographs that could not be used.
    """

    report: Mapping[str, Any]
    unread: tuple[Unread, ...]


def collect(
    folder: Path,
    said: Mapping[int, Mapping[str, str]] | None,
    output: str,
    *,
    replace: bool,
    rows_shown: RowsShown,
) -> Collected:
    """Read the photographs of a folder and write a drawing for each sheet, a table, and a page of the others.

    Parameters
    ----------
    folder : Path
    said : mapping of number to cells by column, or None
        What each row says beside its picture; None where there is no list, and any number will do.
    output : str
        Folder of drawings, table and page.
    replace : bool
        Whether files of others may be replaced.
    rows_shown : callable
        Shows how many photographs of how many are read; gives the function that counts one more.

    Raises
    ------
    RecipeError, OutputError
        In one line, if there are no photographs, too many, or none could be read; then nothing is written.
    """
    target = given_folder(output)
    paths = _photographs(folder)
    drawings: dict[int, bytes] = {}
    shown_by: dict[int, list[int]] = {}
    unread: dict[int, Unread] = {}
    with rows_shown(len(paths), 0) as count:
        for at, path in enumerate(paths, 1):
            number, content = _read(at, path, said)
            if isinstance(content, Unread):
                unread[at] = content
            elif number is not None:
                shown_by.setdefault(number, []).append(at)
                drawings[number] = content
            count()
    for number, some in shown_by.items():
        if len(some) > 1:
            del drawings[number]
            others = " and ".join(map(str, some))
            for at in some:
                why = f"sheet {number} is in the photographs {others}; keep one of them"
                unread[at] = Unread(at, paths[at - 1].name, why, _image(paths[at - 1]))
    if not drawings:
        first = unread[min(unread)]
        raise RecipeError(f"none of {len(paths)} photographs shows a sheet; of the first, {first.why}")
    missing = [] if said is None else sorted(set(said) - set(drawings))
    listed = tuple(unread[at] for at in sorted(unread))
    files = {_name(number): data for number, data in sorted(drawings.items())}
    files[TABLE] = _table(sorted(drawings), said or {})
    if listed or missing:
        files[UNREAD] = unread_html(listed, missing)
    report = {
        "schema": 1,
        "kind": KIND,
        "rows": sorted(drawings),
        "missing": missing,
        "unread": [{"photograph": one.number, "why": one.why} for one in listed],
    }
    return Collected(write_set(target, files, REPORT, report, Claim(tuple(paths), replace)), listed)


def remove_row(folder: Path, report: Mapping[str, Any], number: int) -> bool:
    """Take a row out of a folder of drawings, and the page of photographs not used, which may show it too.

    Returns whether there was anything of it.
    """
    if number not in report.get("rows", ()):
        return False
    drawn, unread = folder / _name(number), folder / UNREAD
    names = [name for name in report["files"] if name not in (drawn.name, UNREAD)]
    files = {name: (folder / name).read_bytes() for name in names if (folder / name).is_file()}
    if TABLE in files:
        lines = list(csv.reader(io.StringIO(files[TABLE].decode("utf-8-sig"), newline="")))
        text = io.StringIO(newline="")
        csv.writer(text, lineterminator="\r\n").writerows(row for row in lines if row[:1] != [str(number)])
        files[TABLE] = text.getvalue().encode("utf-8-sig")
    for path in (drawn, unread):
        path.unlink(missing_ok=True)
    rows = [row for row in report["rows"] if row != number]
    write_set(folder, files, REPORT, {**report, "rows": rows}, Claim((), replace=True))
    return True


def _photographs(folder: Path) -> list[Path]:
    if not folder.is_dir():
        raise RecipeError(f"there is no folder {folder}; give that of the photographs")
    kinds = tuple(kind for kind in PICTURES if kind != ".svg")
    found = sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() in kinds and not path.name.startswith(".") and path.is_file()
    )
    if not found:
        raise RecipeError(f"there is no photograph in the folder {folder}; it takes {', '.join(kinds)}")
    if len(found) > _MOST:
        raise RecipeError(f"{folder} holds {len(found)} photographs, more than {_MOST}; split the folder")
    return found


def _read(at: int, path: Path, said: Mapping[int, Any] | None) -> tuple[int | None, bytes | Unread]:
    """Return the number of a photograph's sheet and its drawing as JPEG, or why it has none."""
    try:
        from ..artwork.marked.evened import drawing  # noqa: PLC0415 - scikit-image, an optional extra
        from ..artwork.marked.sheets import photographed, read_sheet  # noqa: PLC0415
    except ImportError as error:
        raise OutputError(
            "reading photographs needs scikit-image, which is not here; install reliefsmith[photo]"
        ) from error
    try:
        image = photographed(path)
    except ReliefsmithError as error:
        return None, Unread(at, path.name, str(error).replace(path.name, "").replace("  ", " "), None)
    found = read_sheet(image)
    if found.number is None or found.place is None:
        return None, Unread(at, path.name, found.why, image)
    if said is not None and found.number not in said:
        return None, Unread(at, path.name, f"its sheet {found.number} is not on the list", image)
    kept = io.BytesIO()
    drawing(image, found.place).save(kept, "JPEG", quality=_QUALITY, subsampling=0)
    return found.number, kept.getvalue()


def _image(path: Path) -> Image.Image:
    from ..artwork.marked.sheets import photographed  # noqa: PLC0415 - scikit-image, an optional extra

    return photographed(path)


def _name(number: int) -> str:
    return f"{number:04d}.jpg"


def _table(numbers: list[int], said: Mapping[int, Mapping[str, str]]) -> bytes:
    """Write the table of the rows: numbers, pictures, and what the list says."""
    columns = list(dict.fromkeys(key for number in numbers for key in said.get(number, {})))
    rows: list[list[Cell]] = [[*_FIRST, *columns]]
    for number in numbers:
        cells = said.get(number, {})
        rows.append([number, _name(number), "flat", *(_cell(cells.get(key, "")) for key in columns)])
    return csv_bytes(rows)


def _cell(text: str) -> Cell:
    """Return a cell as it was, a number as one, which needs no guard against formulas."""
    try:
        return Decimal(text) if str(Decimal(text)) == text else text
    except InvalidOperation:
        return text
