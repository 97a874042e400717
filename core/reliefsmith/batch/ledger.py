"""The ledger of a batch, a diary: one JSON line for each row as it ends; what is done is told by the sets.

It tells what happened in which order. What is done is told by the reports in the rows' folders, so last lines
that are lost or torn cost nothing: the next run adds them.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO

from ..errors import OutputError

__all__ = ["NAME", "Ledger", "failed_rows"]

NAME = "ledger.jsonl"
_LINE_END = b"\n"
_SYNCED_EVERY_S = 1.0
_MOST_LINE = 4096  # bytes; a row's number, key and digest, or why it failed


class Ledger:
    """Adds lines to the ledger of a folder; a line is on the disk a second after `add` at the latest.

    Raises
    ------
    OutputError
        If it cannot be written.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME
        try:
            _require_own(self._path)
            _drop_torn_line(self._path)
            self._last = _last_lines(self._path)
        except OSError as error:
            raise self._failed(error) from error
        self._file: BinaryIO | None = None  # begun with the first line, so that a run without one leaves none
        self._synced = time.monotonic()

    def __enter__(self) -> Ledger:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._file is None:
            return
        try:
            with self._file:
                self._file.flush()
                os.fsync(self._file.fileno())
        except OSError as failed:
            if error is None:
                raise self._failed(failed) from failed

    def add(self, entry: Mapping[str, Any], *, again: bool = True) -> None:
        """Add a line; without `again` only where the last one of its row is another."""
        line = json.dumps(entry, sort_keys=True).encode() + _LINE_END
        if not again and self._last.get(entry["row"]) == hash(line):
            return
        self._last[entry["row"]] = hash(line)
        try:
            self._file = self._file or self._path.open("ab")
            self._file.write(line)
            self._file.flush()
            if time.monotonic() - self._synced > _SYNCED_EVERY_S:
                os.fsync(self._file.fileno())
                self._synced = time.monotonic()
        except OSError as error:
            raise self._failed(error) from error

    def _failed(self, error: OSError) -> OutputError:
        return OutputError(f"cannot write the ledger {self._path}: {error.strerror or error}; make room")


def failed_rows(folder: Path) -> list[int]:
    """Return the rows of a batch whose last line says that they failed; none in a folder without a ledger."""
    path = folder / NAME
    failed: dict[int, bool] = {}
    if path.is_file():
        with path.open("rb") as file:
            for line in filter(_is_entry, file):
                entry = json.loads(line)
                if isinstance(entry, dict) and isinstance(entry["row"], int):
                    failed[entry["row"]] = "error" in entry
    return sorted(row for row, is_failed in failed.items() if is_failed)


def _require_own(path: Path) -> None:
    """Refuse a file of the same name that no batch wrote, by its first line."""
    if not path.exists():
        return
    with path.open("rb") as file:
        first = file.readline(_MOST_LINE)
    torn = first == b"" or (first.startswith(b'{"') and not first.endswith(_LINE_END))
    if not torn and not _is_entry(first):
        raise OutputError(f"{path} is there and is no ledger of a batch; choose another folder")


def _last_lines(path: Path) -> dict[int, int]:
    """Return the hash of the last line of each row."""
    found: dict[int, int] = {}
    if path.is_file():
        with path.open("rb") as file:
            for line in file:
                if _is_entry(line):
                    found[json.loads(line)["row"]] = hash(line)
    return found


def _is_entry(line: bytes) -> bool:
    try:
        return {"row", "key"} <= set(json.loads(line))
    except (ValueError, TypeError, RecursionError):
        return False


def _drop_torn_line(path: Path) -> None:
    """Cut off a last line that a killed run left without its end."""
    if not path.is_file():
        return
    data = path.read_bytes()
    whole = data.rfind(_LINE_END) + 1
    if whole < len(data):
        with path.open("r+b") as file:
            file.truncate(whole)
