"""One row of a batch: made as a set in a folder of its own, unless it is done."""

from __future__ import annotations

import contextlib
import errno
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ..colorimetry import to_hex
from ..errors import HeldError, RecipeError, StoreError, TakenError, error_line
from ..formats.claims import Claim
from ..formats.setreading import is_printable
from ..model import PictureId, Result, Separation
from ..progress import drain
from ..walk.output import write_row_steps
from ..walk.pipeline import Job
from ..walk.store import FolderStore, MemoryStore, Store
from .done import Look, Outcome, found_done, picture_digest, report_digest, row_key
from .rows import Row

__all__ = ["AHEAD", "Limits", "Task", "make_row"]

_SECONDS, _GIB = (1.0, 86_400.0), (0.25, 1024.0)
_FULL = (errno.ENOSPC, errno.EDQUOT)
_HELD_S = 30.0
"""Waited for the folder of a row: a process that was killed, or lost, may hold it for its last moments."""
AHEAD = 2  # rows handed out for each process, or thread of a worker, so that none waits for the next
_LOOK_S = 0.5
_SHARE_DIGITS = 6  # of a color's share that is kept: the same on every machine


@dataclass(frozen=True, slots=True)
class Limits:
    """What a row may take; beyond it the row fails, and no other.

    Parameters
    ----------
    seconds : float
        By the clock.
    gib : float
        Of its process, all that it could touch; not on Windows.

    Raises
    ------
    RecipeError
        If one is out of its bounds.
    """

    seconds: float = 600.0
    gib: float = 4.0

    def __post_init__(self) -> None:
        for name, value, (low, high) in (
            ("--row-seconds", self.seconds, _SECONDS),
            ("--row-gib", self.gib, _GIB),
        ):
            if not low <= value <= high:
                raise RecipeError(f"{name} must be between {low:g} and {high:g}, got {value:g}")


@dataclass(frozen=True, slots=True)
class Task:
    """A row as it is handed to whoever makes it.

    Parameters
    ----------
    row : Row
    folder : Path
        Of the batch.
    drawn : bool
        Whether its proof and sheet are drawn.
    limits : Limits
    sign : Path
        A file that is there as long as rows may be begun.
    place : Path
        The current folder of the batch, where relative paths begin.
    shared : Path or None
        Where the values of stages are kept that other rows need too.
    stages : frozenset of str
        Which stages these are.
    looked : bool
        Whether its colors are only looked at, and nothing is made.
    named : bool
        Whether errors may quote what the row says.
    """

    row: Row
    folder: Path
    drawn: bool
    limits: Limits
    sign: Path
    place: Path
    shared: Path | None = None
    stages: frozenset[str] = frozenset()
    looked: bool = False
    named: bool = False

    def going(self) -> bool:
        """Return whether the row may be begun."""
        return self.sign.exists()

    def made(self, memory: MemoryStore) -> Outcome:
        """Make the row here."""
        store = memory if self.shared is None else _SharedStore(memory, self.shared, self.stages)
        if self.looked:
            one = _look_at_row(self.row, store)
        else:
            one = make_row(self.row, self.folder, store, drawn=self.drawn)
        return one if self.named else one.unnamed(self.row)


class _SharedStore:
    """Keeps values in memory, and those of shared stages in a folder behind it.

    A folder that cannot be written, or is gone, costs time only.
    """

    def __init__(self, memory: MemoryStore, folder: Path, stages: frozenset[str]) -> None:
        self._memory, self._stages = memory, stages
        self._folder: FolderStore | None = None
        with contextlib.suppress(StoreError):
            self._folder = FolderStore(folder)

    def get(self, stage: str, key: str) -> Any | None:
        value = self._memory.get(stage, key)
        if value is None and self._folder is not None and stage in self._stages:
            value = self._folder.get(stage, key)
            if value is not None:
                self._memory.put(stage, key, value)
        return value

    def put(self, stage: str, key: str, value: Any) -> None:
        self._memory.put(stage, key, value)
        if self._folder is not None and stage in self._stages:
            with contextlib.suppress(StoreError):
                self._folder.put(stage, key, value)


def make_row(row: Row, folder: Path, store: Store, *, drawn: bool) -> Outcome:
    """Make a row's set, unless it is done; what is wrong with it is in the outcome, in the words of `make`.

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
        key = row_key(row)
        done = found_done(row, folder, key, drawn=drawn)
        if done is not None:
            return done
        relief = Job(row.picture, store).relief(row.recipe)
        result = replace(
            relief.result, stem=row.name, picture=PictureId(row.name, picture_digest(row.picture))
        )
        claim = Claim((row.picture, *relief.inputs))
        report = _written(result, folder / row.name, claim, made_of=key, drawn=drawn)
        return Outcome(row.number, key, report_digest(row, folder), is_printable(report))
    except TakenError as error:
        return Outcome(row.number, key, error=str(error))  # without the ways out of `make`
    except Exception as error:  # noqa: BLE001 - a fault of ours must not take the other rows down
        return _failed(row, key, error)


def _look_at_row(row: Row, store: Store) -> Outcome:
    """Find which colors a row has by itself; what is wrong with it is in the outcome."""
    key = ""
    try:
        key = row_key(row)
        values = drain(Job(row.picture, store).steps(row.recipe, "outlined"))
        found: Separation = values["separation"]
        colors = tuple(
            (to_hex((int(red), int(green), int(blue))), round(float(share), _SHARE_DIGITS))
            for at, ((red, green, blue), share) in enumerate(zip(found.colors, found.shares, strict=True))
            if at != found.enclosed
        )
        return Outcome(row.number, key, look=Look(to_hex(values["outlined"].base_color), colors))
    except Exception as error:  # noqa: BLE001 - as above
        return _failed(row, key, error)


def _failed(row: Row, key: str, error: Exception) -> Outcome:
    full = getattr(error.__cause__, "errno", None) in _FULL
    return Outcome(row.number, key, error=" ".join(error_line(error).split()), full=full)


def _written(result: Result, folder: Path, claim: Claim, *, made_of: str, drawn: bool) -> Mapping[str, Any]:
    """Write a row's set as soon as nobody else is writing there; the value is the report."""
    until = time.monotonic() + _HELD_S
    while True:
        try:
            return drain(write_row_steps(result, folder, claim, made_of=made_of, drawn=drawn))
        except HeldError:
            if time.monotonic() > until:
                raise
            time.sleep(_LOOK_S)
