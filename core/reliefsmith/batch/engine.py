"""Hands rows out, in this machine's processes or to a cluster, and gives their outcomes as they end."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Protocol, TypeAlias

from ..errors import OutputError, RecipeError
from .done import Outcome
from .maker import end_makers, made
from .rows import Row
from .rowwork import AHEAD, Limits, Task
from .sharing import Queue, Shared, shared_by

__all__ = ["SCRATCH", "Engine", "Hands", "Hired", "Processes", "heeded", "hired"]

MOST_JOBS = 256
SCRATCH = ".under-way"
"""Folder within that of the batch, for the time of a run: the sign that rows may begin, shared values."""


class Hands(Protocol):
    """Who makes the rows."""

    def rows_ahead(self) -> int:
        """Return how many rows are to be handed out at a time."""

    def submit(self, task: Task) -> Future[Outcome | None]:
        """Hand a row out; what comes of it is None where the batch was stopped before it began."""

    def renew(self) -> None:
        """Get in touch again after rows were lost on the way.

        Raises
        ------
        OutputError
            If there is nobody any more.
        """

    def close(self, *, at_once: bool) -> None:
        """Let go; with `at_once` also of rows under way."""


Hired: TypeAlias = Callable[[Path, int], Hands]
"""Gives who makes rows, from the batch's folder and how many they are."""


class Processes:
    """Processes of this machine, each behind a thread.

    Parameters
    ----------
    jobs : int
        How many, at least 1.
    """

    def __init__(self, jobs: int) -> None:
        self._jobs = jobs
        self._pool = ThreadPoolExecutor(jobs)

    def rows_ahead(self) -> int:
        """Return how many rows are to be handed out at a time."""
        return AHEAD * self._jobs

    def submit(self, task: Task) -> Future[Outcome | None]:
        """Hand a row out."""
        return self._pool.submit(made, task)

    def renew(self) -> None:
        """Do nothing: a process that dies is begun anew by its thread."""

    def close(self, *, at_once: bool) -> None:
        """End the processes."""
        if at_once:
            end_makers()
        self._pool.shutdown(cancel_futures=True)
        end_makers()


@dataclass(frozen=True, slots=True)
class Engine:
    """Makes rows by the hands that it is given.

    Parameters
    ----------
    folder : Path
        Of the batch.
    drawn : bool
        Whether proofs and sheets are drawn.
    limits : Limits
        Of each row.
    named : bool
        Whether errors may quote what rows say.
    """

    folder: Path
    drawn: bool
    limits: Limits
    named: bool = False

    @property
    def sign(self) -> Path:
        """The file that is there as long as rows may be begun."""
        return self.folder / SCRATCH / "going"

    def stop(self) -> None:
        """Let no row begin any more; this holds for every process, also on a full disk."""
        self.sign.unlink(missing_ok=True)

    def clear(self) -> None:
        """Remove what is kept for the time of a run, as after a killed one."""
        shutil.rmtree(self.folder / SCRATCH, ignore_errors=True)

    def outcomes(self, rows: Sequence[Row], makers: Hired, *, looked: bool = False) -> Iterator[Outcome]:
        """Give the outcome of each row as it ends.

        Parameters
        ----------
        rows : sequence of Row
        makers : Hired
        looked : bool
            Whether their colors are only looked at.
        """
        ordered, shared = shared_by(rows)
        self.sign.parent.mkdir(exist_ok=True)  # its processes may still be at their last moments
        self.sign.touch()
        hands: Hands | None = None
        whole = False
        try:
            hands = makers(self.folder, len(rows))
            tasks = {row.number: self._task(row, shared[row.number], looked=looked) for row in rows}
            yield from self._handed_out(Queue(ordered, shared), tasks, hands)
            whole = True
        finally:
            self.stop()
            if hands is not None:
                hands.close(at_once=not whole)
            self.clear()

    def _handed_out(self, rows: Queue, tasks: Mapping[int, Task], hands: Hands) -> Iterator[Outcome]:
        running: dict[Future[Outcome | None], Row] = {}
        while True:
            ahead = hands.rows_ahead()
            while self.sign.exists() and len(running) < ahead and (row := rows.next()):
                running[hands.submit(tasks[row.number])] = row
            if not running:
                return
            lost = False
            for one in wait(running, return_when=FIRST_COMPLETED).done:
                row = running.pop(one)
                if one.cancelled():
                    lost = True
                    rows.again(row)
                elif (outcome := one.result()) is not None:
                    group = rows.ended(row, known=not outcome.kept)
                    if group is not None:
                        shutil.rmtree(self._values(group), ignore_errors=True)
                    yield outcome
            if lost and self.sign.exists():
                hands.renew()

    def _task(self, row: Row, shares: Shared, *, looked: bool) -> Task:
        values = None if shares.group is None else self._values(shares.group)
        return Task(
            row,
            self.folder,
            self.drawn,
            self.limits,
            self.sign,
            Path.cwd(),
            values,
            shares.stages,
            looked=looked,
            named=self.named,
        )

    def _values(self, group: int) -> Path:
        """Return where shared values of a group are kept."""
        return self.folder / SCRATCH / f"{group}"


def hired(jobs: int | None, scheduler: str | None) -> Hired:
    """Return who makes the rows: so many processes of this machine, or the cluster at an address.

    Raises
    ------
    RecipeError
        If there cannot be so many, or both are given.
    OutputError
        If this cannot speak with a cluster.
    """
    if scheduler is not None:
        if jobs is not None:
            raise RecipeError("--jobs is for this machine and --scheduler for a cluster; leave one out")
        if find_spec("distributed") is None:
            raise OutputError("--scheduler needs Dask, which is not here; install reliefsmith[dask]")
        from .cluster import Cluster  # noqa: PLC0415 - its library is heavy, and may be missing

        return lambda folder, _rows: Cluster(scheduler, folder)
    if jobs is not None and not 1 <= jobs <= MOST_JOBS:
        raise RecipeError(f"--jobs must be between 1 and {MOST_JOBS}, got {jobs}")
    most = jobs or min(os.cpu_count() or 1, MOST_JOBS)
    return lambda _folder, rows: Processes(min(most, rows))


@contextmanager
def heeded(engine: Engine) -> Iterator[threading.Event]:
    """Let a first interrupt stop an engine, so that rows that have begun come to their end.

    A second ends all. What is given is set by the first.
    """
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():  # no other may say what signals do
        yield asked
        return
    usual = signal.getsignal(signal.SIGINT)

    def take(_number: int, _frame: object) -> None:
        asked.set()
        with contextlib.suppress(OSError):
            engine.stop()
        signal.signal(signal.SIGINT, usual)

    signal.signal(signal.SIGINT, take)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, usual)
