"""One row of a batch: made as a set in a folder of its own, and known again when it is done."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from ..errors import OutputError, ReliefsmithError, TakenError, error_line
from ..findings import Severity
from ..formats.claims import Claim
from ..formats.sets import REPORT_SUFFIX, file_digest, read_set
from ..model import PictureId
from ..progress import drain
from ..walk.inputs import hand_files
from ..walk.keys import picture_key
from ..walk.output import versions, write_row_steps
from ..walk.pipeline import Job
from ..walk.store import Store
from .rows import Row

__all__ = ["Outcome", "done_before", "make_row"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a row.

    Parameters
    ----------
    number : int
    key : str
        Of what it was made; empty where that cannot be read.
    report : str
        SHA-256 of its report; empty where it failed.
    printable : bool
        Whether no finding says not to print it.
    error : str
        Why it failed, in one line.
    """

    number: int
    key: str = ""
    report: str = ""
    printable: bool = False
    error: str = ""

    def entry(self) -> dict[str, Any]:
        """Return its line of the ledger."""
        if self.error:
            return {"row": self.number, "key": self.key, "error": self.error}
        return {"row": self.number, "key": self.key, "report": self.report, "printable": self.printable}


def done_before(row: Row, folder: Path, *, drawn: bool) -> Outcome | None:
    """Return the outcome of a row that an earlier run made as it would be made now, or None."""
    try:
        key = _key(row, drawn=drawn)
        found = read_set(folder / row.name, f"{row.name}{REPORT_SUFFIX}")
    except ReliefsmithError:
        return None
    if not found.is_set or found.report.get("made_of") != key:
        return None
    return Outcome(row.number, key, _report_digest(row, folder), _is_printable(found.report))


def make_row(row: Row, folder: Path, store: Store, *, drawn: bool) -> Outcome:
    """Make a row's set; what is wrong with it is in the outcome, in the words of `make`.

    Parameters
    ----------
    row : Row
    folder : Path
        Of the batch; the row's own folder, in it, is called by its number.
    store : Store
        Of stage values, shared by rows that are made one after the other.
    drawn : bool
        Whether its proof and sheet are drawn.
    """
    key = ""
    try:
        key = _key(row, drawn=drawn)
        relief = Job(row.picture, store).relief(row.recipe)
        result = replace(relief.result, stem=row.name, picture=PictureId(row.name, _picture(row.picture)))
        claim = Claim((row.picture, *relief.inputs))
        report = drain(write_row_steps(result, folder / row.name, claim, made_of=key, drawn=drawn))
    except TakenError as error:
        return Outcome(row.number, key, error=str(error))  # without the ways out of `make`
    except Exception as error:  # noqa: BLE001 - a fault of ours must not take the other rows down
        return Outcome(row.number, key, error=" ".join(error_line(error).split()))
    return Outcome(row.number, key, _report_digest(row, folder), _is_printable(report))


def _key(row: Row, *, drawn: bool) -> str:
    """Return the digest of all that a row's files depend on: picture, recipe, hand relief, versions."""
    hand = [file_digest(path) for path in hand_files(row.recipe)]
    made_of = [_picture(row.picture), row.recipe.to_toml(), hand, versions(), drawn]
    return hashlib.sha256(json.dumps(made_of, sort_keys=True).encode()).hexdigest()


def _picture(path: Path) -> str:
    """Return the SHA-256 of a picture's bytes, read once for all rows that share it."""
    try:
        about = path.stat()
    except OSError:
        return picture_key(path)  # which says what is wrong
    return _digest(path, about.st_mtime_ns, about.st_size)


@lru_cache(maxsize=1024)
def _digest(path: Path, _changed_ns: int, _size: int) -> str:
    return picture_key(path)


def _report_digest(row: Row, folder: Path) -> str:
    digest = file_digest(folder / row.name / f"{row.name}{REPORT_SUFFIX}")
    if not digest:
        raise OutputError(f"the report of row {row.number} is gone; run the batch again")
    return digest


def _is_printable(report: Mapping[str, Any]) -> bool:
    return all(found["severity"] != Severity.STOP for found in report["findings"])
