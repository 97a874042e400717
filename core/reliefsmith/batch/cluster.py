"""A Dask cluster that makes the rows: its workers commit each in the batch's folder, which all of them see.

Rows are handed out a few at a time and gathered as they end, so a worker that is killed takes only rows under
way with it, which others make again, or find done. A lost scheduler ends nothing either: as soon as it is
there again, or another at its address, what is not done is handed out to it. Each worker makes rows in a
process of its own for each thread (`maker`), so that no row can end a worker, and Dask's profiler, which
grows with what it watches, sees a thread that waits.
"""

from __future__ import annotations

import contextlib
import logging
import platform
import time
import traceback
import warnings
from collections.abc import Mapping
from concurrent.futures import Future
from dataclasses import replace
from functools import partial
from pathlib import Path

import distributed
from distributed import cfexecutor

from ..errors import OutputError
from ..formats.stems import printable
from ..walk.output import versions
from .done import Outcome
from .maker import made
from .rowwork import AHEAD, Task

__all__ = ["Cluster", "about_here", "handed_back", "made_there"]

_LOOK_S = 2.0  # between two looks at how many workers there are
_CONNECT_S = 10.0
_LOGGING = ("distributed", "tornado", "asyncio")
_UNREACHED = (OSError, RuntimeError, ValueError)
"""What Dask raises where it cannot reach a scheduler, or an address is none."""
_GONE_S = 60.0
"""Waited for a scheduler that is gone; then the batch ends, and the same command goes on."""


def about_here(folder: Path) -> tuple[dict[str, str], bool]:
    """Return the versions that shape results in this process, and whether it sees a batch under way."""
    return {"Python": platform.python_version(), **versions()}, folder.is_dir()


def made_there(task: Task, wanted: dict[str, str]) -> Outcome | None:
    """Make a row on a worker.

    Raises
    ------
    OutputError
        If it came later than the others were looked at, and its versions are others.
    """
    found, sees = about_here(task.folder)
    if fault := _fault(platform.node(), found, wanted, sees=sees, folder=task.folder):
        raise OutputError(fault)
    return made(task)


class Cluster:
    """The workers of a scheduler.

    Parameters
    ----------
    address : str
        Such as "tcp://10.0.0.5:8786".
    folder : Path
        Of the batch, with the sign that rows may be begun.

    Raises
    ------
    OutputError
        If there is no scheduler, a worker differs in its versions or does not see the folder.
    """

    def __init__(self, address: str, folder: Path) -> None:
        _silence()
        self._address, self._folder = address, folder.absolute()
        self._wanted, _ = about_here(self._folder)
        self._looked, self._threads = 0.0, 1
        self._client = _connected(address, 0.0)
        try:
            self._require_alike()
        except BaseException:
            self.close(at_once=True)
            raise

    def rows_ahead(self) -> int:
        """Return how many rows are to be handed out at a time."""
        if time.monotonic() - self._looked > _LOOK_S:
            with contextlib.suppress(*_UNREACHED):
                self._threads = sum(self._client.nthreads().values())
            self._looked = time.monotonic()
        return AHEAD * max(1, self._threads)

    def submit(self, task: Task) -> Future[Outcome | None]:
        """Hand a row out; its future is cancelled where the scheduler is gone, or the outcome was lost."""
        future: Future[Outcome | None] = Future()
        try:
            there = self._client.get_executor(pure=False).submit(
                made_there, _from_anywhere(task), self._wanted
            )
        except _UNREACHED:
            _cancel(future)
        else:
            there.add_done_callback(partial(handed_back, future))
        return future

    def renew(self) -> None:
        """Speak with the scheduler again, or with the next one at its address."""
        self.close(at_once=True)
        self._client = _connected(self._address, _GONE_S)
        self._require_alike()

    def close(self, *, at_once: bool) -> None:
        """Let go; rows under way that nobody waits for commit themselves all the same."""
        with contextlib.suppress(*_UNREACHED):
            self._client.close(timeout=_LOOK_S if at_once else _CONNECT_S)

    def _require_alike(self) -> None:
        try:
            found = self._client.run(about_here, self._folder, on_error="return")
        except _UNREACHED as error:
            raise OutputError(_gone(self._address)) from error
        for worker, told in sorted(found.items()):
            if isinstance(told, BaseException):
                raise OutputError(
                    f"worker {worker} cannot make rows ({type(told).__name__}: {told}); install reliefsmith"
                    f" {self._wanted['reliefsmith']} there"
                )
            versions_there, sees = told
            if fault := _fault(worker, versions_there, self._wanted, sees=sees, folder=self._folder):
                raise OutputError(fault)


def handed_back(here: Future[Outcome | None], there: Future[Outcome | None]) -> None:
    """Pass on what came of a row; an outcome that was lost on its way cancels the future it is passed to.

    Where the worker that held an outcome goes just as it was gathered, Dask's executor takes it for an error
    and fails at unpacking it. Such a row is handed out again, and found done.
    """
    error = None if there.cancelled() else there.exception()
    if there.cancelled() or _is_of_executor(error):
        _cancel(here)
    elif error is not None:
        here.set_exception(error)
    else:
        here.set_result(there.result())


def _is_of_executor(error: BaseException | None) -> bool:
    raised = traceback.extract_tb(error.__traceback__) if isinstance(error, TypeError) else []
    return bool(raised) and raised[-1].filename == cfexecutor.__file__


def _cancel(future: Future[Outcome | None]) -> None:
    future.cancel()
    future.set_running_or_notify_cancel()


def _silence() -> None:
    """Log nothing of workers and connections that come and go: it is no news for who reads one line."""
    for name in tuple(logging.root.manager.loggerDict):
        if name.partition(".")[0] in _LOGGING:
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)


def _connected(address: str, patience_s: float) -> distributed.Client:
    """Return a client of a scheduler as soon as there is one."""
    until = time.monotonic() + patience_s
    while True:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of versions that differ, which are looked at below
                return distributed.Client(address, timeout=_CONNECT_S, set_as_default=False)
        except _UNREACHED as error:
            if time.monotonic() >= until or isinstance(error, ValueError):  # an address that is none
                raise OutputError(_gone(address)) from error
            time.sleep(_LOOK_S)


def _gone(address: str) -> str:
    return f"there is no Dask scheduler at {printable(address)}; start it, and the same command goes on"


def _fault(
    worker: str, found: Mapping[str, str], wanted: Mapping[str, str], *, sees: bool, folder: Path
) -> str:
    """Return why a worker cannot make rows of a batch, or an empty string."""
    other = [
        f"{name} {found.get(name, 'none')}, not {version}"
        for name, version in wanted.items()
        if found.get(name) != version
    ]
    if other:
        return f"worker {worker} has {', '.join(other)}: its files would differ; install the same there"
    if not sees:
        return f"worker {worker} does not see {printable(folder)}; choose a folder that all machines share"
    return ""


def _from_anywhere(task: Task) -> Task:
    """Return a task whose paths a worker can look at wherever it was begun."""
    shared = None if task.shared is None else task.shared.absolute()
    return replace(task, folder=task.folder.absolute(), sign=task.sign.absolute(), shared=shared)
