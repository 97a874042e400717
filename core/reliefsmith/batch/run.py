"""A batch from its table to its sets: rows are read, those that are done are kept, the others are made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import OutputError, ReliefsmithError
from ..findings import count_words
from ..formats.claims import given_folder
from ..formats.held import locked, made, plain_errors
from ..statuses import DONE, ROWS_FAILED, STOPPED
from .done import Outcome, done_before, row_key
from .engine import Engine, Hired, heeded
from .ledger import Ledger
from .rows import Row, RowRecipe, chosen, numbered, read_rows
from .rowwork import Limits
from .together import Common, common, kept_looks, matched, require_palette, write_looks

__all__ = ["Ended", "run_batch"]

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
    interrupted : bool
    shared : Common or None
        Palette and steps of all rows, where they have one.
    """

    rows: tuple[Row, ...]
    outcomes: dict[int, Outcome]
    interrupted: bool = False
    shared: Common | None = None

    @property
    def status(self) -> int:
        """The exit status, had nothing interrupted it."""
        outcomes = self.outcomes.values()
        if any(one.error for one in outcomes):
            return ROWS_FAILED
        return DONE if all(one.printable for one in outcomes) else STOPPED

    def failures(self) -> list[str]:
        """Return a line for each thing that rows failed of, with their numbers as `--rows` takes them."""
        failed: dict[str, list[int]] = {}
        for number, one in sorted(self.outcomes.items()):
            if one.error:
                failed.setdefault(one.error, []).append(number)
        return [f"row{'s' * (len(found) > 1)} {numbered(found)}: {why}" for why, found in failed.items()]

    def summary(self, folder: str) -> str:
        """Return how many rows were made, kept, failed or are not to be printed, in one line."""
        counts = Counter(self._state(row) for row in self.rows)
        told = ", ".join(f"{counts[state]} {state}" for state in _STATES if counts[state])
        unfit = sum(not one.error and not one.printable for one in self.outcomes.values())
        more = f"; {unfit} not to be printed, see their reports" if unfit else ""
        again = "; the same command goes on" if self.interrupted else ""
        return f"{count_words(len(self.rows), 'row')}: {told}{more}; written to {folder}{again}"

    def report(self) -> dict[str, Any]:
        """Return what a script wants to know of every row."""
        rows = []
        for row in self.rows:
            one = self.outcomes.get(row.number)
            entry: dict[str, Any] = {"row": row.number, "folder": row.name, "state": self._state(row)}
            if one is not None:
                entry |= {"error": one.error} if one.error else {"printable": one.printable}
            rows.append(entry)
        told = {} if self.shared is None else {"base": self.shared.base, "steps": list(self.shared.steps)}
        return {"schema": 1, **told, "rows": rows}

    def _state(self, row: Row) -> str:
        one = self.outcomes.get(row.number)
        if one is None:
            return "left"
        return "failed" if one.error else "kept" if one.kept else "made"


_STATES = ("made", "kept", "failed", "left")


def run_batch(
    table: Path,
    output: str,
    recipe: RowRecipe,
    *,
    hands: Hired,
    drawn: bool,
    limits: Limits,
    only: str | None,
    rows_shown: RowsShown,
    palette: int | None = None,
    named: bool = False,
) -> Ended:
    """Make the rows of a table or folder that are not done yet.

    Parameters
    ----------
    table : Path
    output : str
        Folder of the batch: a folder for each row, called by its number, and the ledger.
    recipe : callable
        Gives the recipe of a row.
    hands : Hired
        Who makes them.
    drawn : bool
        Whether proofs and sheets are drawn.
    limits : Limits
        Of each row.
    only : str or None
        Numbers of the rows that are meant, such as "3,7-9"; None for all.
    rows_shown : callable
    palette : int, optional
        Filaments that all rows of the table share, the base's too.
    named : bool
        Whether errors may quote what rows say.

    Raises
    ------
    RecipeError
        If the table cannot be used; then nothing is written.
    OutputError
        If the folder cannot be written, or another batch is writing there.
    """
    every = read_rows(table, recipe, named=named)
    rows = chosen(every, only)
    if palette is not None:
        require_palette(palette, every)
    folder = given_folder(output)
    engine = Engine(folder, drawn, limits, named)
    shared = None
    with plain_errors(folder), made(folder), locked(folder):
        engine.clear()
        if palette is not None:
            shared, stopped = _shared(every, palette, engine, hands, rows_shown)
            if stopped:
                return Ended(rows, {}, interrupted=True)
            rows = rows if shared is None else matched(rows, shared)
        before = (done_before(row, folder, drawn=drawn) for row in rows)
        outcomes = {one.number: one for one in before if one is not None}
        todo = [row for row in rows if row.number not in outcomes]
        with (
            Ledger(folder) as ledger,
            rows_shown(len(rows), len(outcomes)) as count,
            heeded(engine) as stopping,
        ):
            for one in outcomes.values():
                ledger.add(one.entry(), again=False)  # lost with the run that made it
            for one in engine.outcomes(todo, hands) if todo else ():
                if one.full:
                    raise OutputError(f"row {one.number}: {one.error}; then the same command goes on")
                ledger.add(one.entry(), again=not one.kept)
                outcomes[one.number] = one
                count()
    return Ended(rows, outcomes, interrupted=stopping.is_set(), shared=shared)


def _shared(
    rows: tuple[Row, ...], most: int, engine: Engine, hands: Hired, rows_shown: RowsShown
) -> tuple[Common | None, bool]:
    """Return what all rows share, from what an earlier run saw of them and a look at the others.

    It is None where none of them can be looked at; beside it stands whether the looks were interrupted.
    """
    known = kept_looks(engine.folder)
    keys = {row.number: key for row in rows if (key := _key(row))}
    looks = {number: known[key] for number, key in keys.items() if key in known}
    todo = [row for row in rows if row.number not in looks]
    with rows_shown(len(rows), len(looks)) as count, heeded(engine) as stopping:
        for one in engine.outcomes(todo, hands, looked=True) if todo else ():
            if one.look is not None:
                looks[one.number], keys[one.number] = one.look, one.key
            count()
    if stopping.is_set() or not looks:
        return None, stopping.is_set()
    shared = common(looks, most)
    write_looks(engine.folder, looks, keys, shared)
    return shared, False


def _key(row: Row) -> str:
    """Return the key of a row, empty where what it is made of cannot be read."""
    try:
        return row_key(row)
    except ReliefsmithError:
        return ""
