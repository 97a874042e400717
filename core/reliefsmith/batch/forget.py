"""Forgetting a row: its set, its drawing, and every page that shows it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..classes import photographs, sheetset
from ..errors import RecipeError
from ..formats.claims import Claim
from ..formats.held import locked, plain_errors
from ..formats.setreading import REPORT_SUFFIX, read_listed, read_report
from ..formats.setwriting import write_file
from ..formats.stems import printable
from ..orders import bedfiles, contact, quotefiles
from . import together
from .engine import SCRATCH
from .ledger import NAME as LEDGER
from .rows import file_stem

__all__ = ["forget"]


def forget(number: int, folders: Sequence[Path]) -> list[str]:
    """Take a row out of folders: of batches, classes, beds, contact pages and quotes.

    Beds, pages, quotes and sheets that show the row go as a whole, since one command writes them again. What
    else a folder holds, such as photographs and lists, is its owner's and stays.

    Parameters
    ----------
    number : int
    folders : sequence of Path

    Returns
    -------
    list of str
        What was done in each folder, in a few words.

    Raises
    ------
    RecipeError
        If a folder is none, or none of them holds anything of the row.
    OutputError
        If something cannot be removed; the same command goes on.
    """
    for folder in folders:
        if not folder.is_dir():
            raise RecipeError(f"there is no folder {printable(folder)}; give those that hold the row")
    done: list[str] = []
    for folder in folders:
        with plain_errors(folder):
            done += [f"{printable(folder)}: {words}" for words in _forgotten(number, folder)]
    if not done:
        places = ", ".join(printable(folder) for folder in folders)
        raise RecipeError(f"nothing of row {number} is in {places}; check number and folders")
    return done


def _forgotten(number: int, folder: Path) -> list[str]:
    done: list[str] = []
    if (folder / LEDGER).is_file():
        with locked(folder):
            if _from_batch(number, folder):
                done.append(f"row {number} removed")
    for path in sorted(folder.glob(f"*{REPORT_SUFFIX}")):
        report = read_report(path)
        kind = report.get("kind")
        if kind == photographs.KIND:
            if photographs.remove_row(folder, report, number):
                done.append(f"drawing {number} removed")
        elif kind in _SHOWS and _SHOWS[kind](report, number):
            with locked(folder):
                for name in [*(read_listed(report) or ()), path.name]:
                    (folder / name).unlink(missing_ok=True)
            done.append(f"{kind} removed, write them again")
    return done


def _from_batch(number: int, folder: Path) -> bool:
    """Remove a row's folder, its lines of the ledger, and what was seen of it."""
    shutil.rmtree(folder / SCRATCH, ignore_errors=True)
    own = folder / file_stem(number)
    found = own.is_dir()
    if found:
        shutil.rmtree(own)
    lines = (folder / LEDGER).read_bytes().splitlines(keepends=True)
    kept = [line for line in lines if not _is_of(line, number)]
    if len(kept) < len(lines):
        write_file(folder / LEDGER, b"".join(kept), Claim((), replace=True))
        found = True
    seen = folder / together.NAME
    if seen.is_file():
        told = json.loads(seen.read_bytes())
        if told.get("rows", {}).pop(str(number), None) is not None:
            write_file(seen, together.told_bytes(told), Claim((), replace=True))
            found = True
    return found


def _is_of(line: bytes, number: int) -> bool:
    try:
        return bool(json.loads(line)["row"] == number)
    except (ValueError, TypeError, KeyError):
        return False


def _on_beds(report: Mapping[str, Any], number: int) -> bool:
    pieces = [piece for bed in report.get("beds", ()) for piece in bed["pieces"]]
    return any(piece["row"].partition("-")[0] == str(number) for piece in pieces)


def _on_contact(report: Mapping[str, Any], number: int) -> bool:
    return any(name.partition("-")[0] == str(number) for name in report.get("sets", ()))


_SHOWS: dict[object, Callable[[Mapping[str, Any], int], bool]] = {
    bedfiles.KIND: _on_beds,
    contact.KIND: _on_contact,
    quotefiles.KIND: lambda _report, _number: True,  # which lists rows on its pages only
    sheetset.KIND: lambda report, number: number in report.get("rows", ()),
}
