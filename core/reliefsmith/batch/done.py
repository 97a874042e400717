"""What of a batch is done, so that it goes on: a row whose set was made of what it would be made of now."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from ..errors import OutputError, ReliefsmithError
from ..formats.setreading import REPORT_SUFFIX, file_digest, is_printable, read_set
from ..walk.inputs import named_files
from ..walk.keys import picture_key
from ..walk.output import PROOF_SUFFIX, versions
from .rows import Row
from .unnamed import texts_of, unnamed

__all__ = [
    "Look",
    "Outcome",
    "done_before",
    "found_done",
    "picture_digest",
    "report_digest",
    "row_key",
]


@dataclass(frozen=True, slots=True)
class Look:
    """The colors that a row has by itself.

    Parameters
    ----------
    base : str
        Of its base, "#rrggbb".
    colors : tuple of (str, float)
        Those of its art, each with its share.
    """

    base: str
    colors: tuple[tuple[str, float], ...]


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
    kept : bool
        Whether it was found done.
    full : bool
        Whether it failed because the disk is full, so that no other row has a chance.
    look : Look or None
        What was seen of it, where it was only looked at.
    """

    number: int
    key: str = ""
    report: str = ""
    printable: bool = False
    error: str = ""
    kept: bool = False
    full: bool = False
    look: Look | None = None

    def unnamed(self, row: Row) -> Outcome:
        """Return it without what its row says in its error."""
        if not self.error:
            return self
        return replace(
            self, error=unnamed(self.error, texts_of(row.recipe), [row.picture, *named_files(row.recipe)])
        )

    def entry(self) -> dict[str, Any]:
        """Return its line of the ledger."""
        if self.error:
            return {"row": self.number, "key": self.key, "error": self.error}
        return {"row": self.number, "key": self.key, "report": self.report, "printable": self.printable}


def done_before(row: Row, folder: Path, *, drawn: bool) -> Outcome | None:
    """Return the outcome of a row that an earlier run made as it would be made now, or None.

    With `drawn` it is done only where its proof was drawn too.
    """
    try:
        return found_done(row, folder, row_key(row), drawn=drawn)
    except ReliefsmithError:
        return None


def found_done(row: Row, folder: Path, key: str, *, drawn: bool) -> Outcome | None:
    """Return the outcome of a row whose report says that it was made of `key`, its files whole, or None."""
    name = f"{row.name}{REPORT_SUFFIX}"
    if not (folder / row.name / name).is_file():
        return None
    found = read_set(folder / row.name, name)
    if not found.is_set or found.report.get("made_of") != key:
        return None
    if drawn and f"{row.name}{PROOF_SUFFIX}" not in found.report["files"]:
        return None
    return Outcome(row.number, key, report_digest(row, folder), is_printable(found.report), kept=True)


def row_key(row: Row) -> str:
    """Return the digest of all that a row's files depend on: picture, recipe, files it names, versions."""
    named = [file_digest(path) for path in named_files(row.recipe)]
    made_of = [picture_digest(row.picture), row.recipe.to_toml(), named, versions()]
    return hashlib.sha256(json.dumps(made_of, sort_keys=True).encode()).hexdigest()


def picture_digest(path: Path) -> str:
    """Return the SHA-256 of a picture's bytes, read once for all rows that share it."""
    try:
        about = path.stat()
    except OSError:
        return picture_key(path)  # which says what is wrong
    return _digest(path, about.st_mtime_ns, about.st_size)


@lru_cache(maxsize=1024)
def _digest(path: Path, _changed_ns: int, _size: int) -> str:
    return picture_key(path)


def report_digest(row: Row, folder: Path) -> str:
    """Return the SHA-256 of a row's report."""
    digest = file_digest(folder / row.name / f"{row.name}{REPORT_SUFFIX}")
    if not digest:
        raise OutputError(f"the report of row {row.number} is gone; run the batch again")
    return digest
