"""A batch from its table to its sets: rows are read, those that are done are kept, the others are made."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import RecipeError
from ..formats.claims import given_folder
from ..formats.held import locked, made, plain_errors
from .engine import Engine, heeded
from .ledger import Ledger
from .rows import Row, RowRecipe, read_rows
from .rowwork import Outcome, done_before

__all__ = ["Ended", "run_batch"]

MOST_JOBS = 256
FAILED, STOPPED = 3, 1
"""Exit statuses: of a batch with failed rows, and of one in which a finding says not to print a row."""

RowsShown: TypeAlias = Callable[[int, int], AbstractContextManager[Callable[[], None]]]
"""Shows how many rows of how many are done; gives the function that counts one more."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How a batch ended.

    Parameters
    ----------
    rows : tuple of Row
        All of the table.
    outcomes : dict of Outcome by row number
        Of the rows that were made or kept, or failed.
    kept : frozenset of int
        Rows that an earlier run had made.
    interrupted : bool
    """

    rows: tuple[Row, ...]
    outcomes: dict[int, Outcome]
    kept: frozenset[int]
    interrupted: bool = False

    @property
    def status(self) -> int:
        """The exit status, had nothing interrupted it."""
        outcomes = self.outcomes.values()
        if any(one.error for one in outcomes):
            return FAILED
        return 0 if all(one.printable for one in outcomes) else STOPPED

    def failures(self) -> list[str]:
        """Return a line for each failed row."""
        return [f"row {number}: {one.error}" for number, one in sorted(self.outcomes.items()) if one.error]

    def summary(self, folder: str) -> str:
        """Return how many rows were made, kept, failed or are not to be printed, in one line."""
        counts = Counter(self._state(row) for row in self.rows)
        told = ", ".join(f"{counts[state]} {state}" for state in _STATES if counts[state])
        unfit = sum(not one.error and not one.printable for one in self.outcomes.values())
        more = f"; {unfit} not to be printed, see their reports" if unfit else ""
        again = "; the same command goes on" if self.interrupted else ""
        return f"{len(self.rows)} rows: {told}{more}; written to {folder}{again}"

    def report(self) -> dict[str, Any]:
        """Return what a script wants to know of every row."""
        rows = []
        for row in self.rows:
            one = self.outcomes.get(row.number)
            entry: dict[str, Any] = {"row": row.number, "folder": row.name, "state": self._state(row)}
            if one is not None:
                entry |= {"error": one.error} if one.error else {"printable": one.printable}
            rows.append(entry)
        return {"schema": 1, "rows": rows}

    def _state(self, row: Row) -> str:
        one = self.outcomes.get(row.number)
        if one is None:
            return "left"
        return "failed" if one.error else "kept" if row.number in self.kept else "made"


_STATES = ("made", "kept", "failed", "left")


def run_batch(
    table: Path, output: str, recipe: RowRecipe, *, jobs: int | None, drawn: bool, rows_shown: RowsShown
) -> Ended:
    """Make the rows of a table or folder that are not done yet.

    Parameters
    ----------
    table : Path
    output : str
        Folder of the batch: a folder for each row, called by its number, and the ledger.
    recipe : callable
        Gives the recipe of a row.
    jobs : int or None
        Processes; None for one a core.
    drawn : bool
        Whether proofs and sheets are drawn.
    rows_shown : callable

    Raises
    ------
    RecipeError
        If the table cannot be used; then nothing is written.
    OutputError
        If the folder cannot be written, or another batch is writing there.
    """
    if jobs is not None and not 1 <= jobs <= MOST_JOBS:
        raise RecipeError(f"--jobs must be between 1 and {MOST_JOBS}, got {jobs}")
    rows = read_rows(table, recipe)
    folder = given_folder(output)
    with plain_errors(folder), made(folder), locked(folder):
        before = {row.number: done_before(row, folder, drawn=drawn) for row in rows}
        outcomes = {number: one for number, one in before.items() if one is not None}
        kept = frozenset(outcomes)
        todo = [row for row in rows if row.number not in kept]
        jobs = min(jobs or os.cpu_count() or 1, max(1, len(todo)))
        with Ledger(folder) as ledger, rows_shown(len(rows), len(kept)) as count, heeded() as stopping:
            for one in Engine(folder, jobs, drawn, stopping).outcomes(todo):
                ledger.add(one.entry())
                outcomes[one.number] = one
                count()
    return Ended(rows, outcomes, kept, interrupted=stopping.is_set())
