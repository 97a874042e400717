"""Who makes the rows: this process, or several beside it that each keep stage values for the rows they get.

A process that dies takes only its own row down: rows that were under way when one died are made again one at
a time, each in a process of its own, and one that dies again is a failed row. An interrupt lets the rows that
have begun come to their end.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from ..walk.store import MemoryStore
from .rows import Row
from .rowwork import Outcome, make_row

__all__ = ["Engine", "heeded"]

_AHEAD = 2  # rows handed out for each process, so that none waits for the next
_ROWS_PER_PROCESS = 500  # then it is begun anew, so that its memory stays bounded
_DIED = (
    "the process that made it ended at once, as it does without memory; use a smaller picture or fewer jobs"
)

_store: list[MemoryStore] = []  # of the process that a row is made in


@dataclass(slots=True)
class Engine:
    """Makes rows, in `jobs` processes.

    Parameters
    ----------
    folder : Path
        Of the batch.
    jobs : int
        At least 1; with 1 rows are made in this process.
    drawn : bool
        Whether proofs and sheets are drawn.
    stopping : Event
        Once it is set, no row is begun any more.
    """

    folder: Path
    jobs: int
    drawn: bool
    stopping: threading.Event

    def outcomes(self, rows: Sequence[Row]) -> Iterator[Outcome]:
        """Give the outcome of each row as it ends; rows of one picture are made one after the other."""
        waiting = sorted(rows, key=lambda row: (str(row.picture), row.number))
        if self.jobs == 1:
            for row in waiting:
                if not self.stopping.is_set():
                    yield _made(row, self.folder, self.drawn)
            return
        while waiting and not self.stopping.is_set():
            for row in (yield from self._in_pool(waiting)):
                yield self._alone(row)
                waiting.remove(row)

    def _in_pool(self, waiting: list[Row]) -> Generator[Outcome, None, list[Row]]:
        """Make rows in a pool, and take those that end off the list; the value is those of one that broke."""
        running: dict[Future[Outcome], Row] = {}
        rows = iter(list(waiting))
        with self._pool(self.jobs) as pool:
            while True:
                while (
                    not self.stopping.is_set()
                    and len(running) < _AHEAD * self.jobs
                    and (row := next(rows, None))
                ):
                    try:
                        running[pool.submit(_made, row, self.folder, self.drawn)] = row
                    except BrokenProcessPool:
                        return list(running.values())
                if self.stopping.is_set():
                    running = {one: row for one, row in running.items() if not one.cancel()}
                if not running:
                    return []
                for one in wait(running, return_when=FIRST_COMPLETED).done:
                    if isinstance(one.exception(), BrokenProcessPool):
                        return list(running.values())
                    waiting.remove(running.pop(one))
                    yield one.result()

    def _alone(self, row: Row) -> Outcome:
        """Make a row in a process of its own."""
        with self._pool(1) as pool:
            try:
                return pool.submit(_made, row, self.folder, self.drawn).result()
            except BrokenProcessPool:
                return Outcome(row.number, error=_DIED)

    def _pool(self, jobs: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            jobs,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin,
            max_tasks_per_child=_ROWS_PER_PROCESS,
        )


@contextmanager
def heeded() -> Iterator[threading.Event]:
    """Give what a first interrupt sets, so that rows that have begun come to their end; a second ends all."""
    asked = threading.Event()
    usual = signal.getsignal(signal.SIGINT)

    def take(_number: int, _frame: object) -> None:
        asked.set()
        signal.signal(signal.SIGINT, usual)

    if threading.current_thread() is threading.main_thread():  # no other thread may say so
        signal.signal(signal.SIGINT, take)
    try:
        yield asked
    finally:
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGINT, usual)


def _begin() -> None:
    """Begin a process: an interrupt is the business of the one that hands rows out, and it ends with that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)  # a set that is being written is undone by the next run


def _made(row: Row, folder: Path, drawn: bool) -> Outcome:
    if not _store:
        _store.append(MemoryStore())
    return make_row(row, folder, _store[0], drawn=drawn)
