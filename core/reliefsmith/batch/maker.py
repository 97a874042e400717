"""The process that rows are made in: one for each thread that asks, with limits, begun anew when it died.

A row that ends its process, or takes too long, takes no other row down. The process ends with the one that
asks, and by itself when nothing was asked for a while. It is a plain child with pipes, since the workers of
a cluster may be processes that `multiprocessing` gives no children to.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import signal
import subprocess
import sys
import threading
from typing import Any

from ..walk.store import MemoryStore
from .done import Outcome
from .rowwork import Limits, Task

__all__ = ["end_makers", "made", "serve"]

_ROWS_PER_PROCESS = 500  # then it is begun anew, so that its memory stays bounded
_TRIES = 2  # a process may also have been killed for what is not its row's fault
_IDLE_S = 60.0
_KEPT_VALUES = 2  # of each stage, in memory: that of rows of one picture, and that of the one before
_CHILD = (
    "import sys; sys.path[:] = sys.argv[2:]; from reliefsmith.batch.maker import serve; serve(sys.argv[1])"
)
_DIED = (
    "the process that made it ended at once, as it does without memory; use a smaller picture or fewer jobs,"
    " or raise --row-gib"
)

_here = threading.local()
_makers: set[_Maker] = set()


def made(task: Task) -> Outcome | None:
    """Make a row in the process that belongs to this thread; None if the batch was stopped before."""
    if not task.going():
        return None
    maker: _Maker | None = getattr(_here, "maker", None)
    if maker is None or maker.limits != task.limits:
        maker = _here.maker = _Maker(task.limits)
    for _ in range(_TRIES):
        outcome = maker.asked(task)
        if outcome is not None:
            return outcome
        if not task.going():
            return None
    return Outcome(task.row.number, error=_DIED)


def end_makers() -> None:
    """End the processes of all threads, at work or not."""
    for maker in tuple(_makers):
        maker.end()


class _Maker:
    """One process at a time, and how many rows it was given."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._child: subprocess.Popen[bytes] | None = None
        self._rows = 0

    def asked(self, task: Task) -> Outcome | None:
        """Return what the process answers; None where it died of it."""
        child = self._living()
        late = threading.Event()

        def kill() -> None:
            late.set()
            child.kill()

        timer = threading.Timer(self.limits.seconds, kill)
        timer.start()
        try:
            pickle.dump(task, child.stdin)  # type: ignore[arg-type]
            child.stdin.flush()  # type: ignore[union-attr]
            outcome: Outcome = pickle.load(child.stdout)  # type: ignore[arg-type]  # noqa: S301 - our own child
        except (OSError, EOFError, ValueError, pickle.UnpicklingError):  # ended, also by `end`
            self.end()
            seconds = f"{self.limits.seconds:g}"
            told = f"it took longer than {seconds} s; use a smaller picture or raise --row-seconds"
            return Outcome(task.row.number, error=told) if late.is_set() else None
        finally:
            timer.cancel()
        self._rows += 1
        return outcome

    def end(self) -> None:
        """End the process; what it was writing is undone by the next one."""
        child, self._child = self._child, None
        _makers.discard(self)
        if child is not None:
            child.kill()
            child.wait()
            for pipe in (child.stdin, child.stdout):
                with contextlib.suppress(OSError):  # what was not flushed has no reader
                    pipe.close()  # type: ignore[union-attr]

    def _living(self) -> subprocess.Popen[bytes]:
        if self._child is not None and (self._rows >= _ROWS_PER_PROCESS or self._child.poll() is not None):
            self.end()
        if self._child is None:
            self._rows = 0
            self._child = subprocess.Popen(  # noqa: S603 - this Python and a fixed text
                [sys.executable, "-c", _CHILD, str(int(self.limits.gib * 2**30)), *sys.path],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=_environment(),
                start_new_session=True,  # an interrupt is the business of the one that hands rows out
            )
            _makers.add(self)
        return self._child


def _environment() -> dict[str, str]:
    """Return that of a process that makes rows.

    No threads are kept for large matrices, which nothing here multiplies. And memory is kept from one step to
    the next: Dask asks for the contrary in its workers, which costs rows a tenth of their work.
    """
    kept = {name: value for name, value in os.environ.items() if name != "MALLOC_TRIM_THRESHOLD_"}
    return {"OPENBLAS_NUM_THREADS": "1", **kept}


def serve(memory_bytes: str) -> None:
    """Make the rows that come on stdin until there are none: what the process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no answer
    _limit_memory(int(memory_bytes))
    tasks: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_read, args=(tasks,), daemon=True).start()
    memory = MemoryStore(_KEPT_VALUES)
    with contextlib.suppress(queue.Empty):
        while True:
            task: Task = tasks.get(timeout=_IDLE_S)
            with contextlib.suppress(OSError):  # a machine without it: what is relative is not found then
                os.chdir(task.place)
            pickle.dump(task.made(memory), answers)
            answers.flush()


def _read(tasks: queue.SimpleQueue[Any]) -> None:
    """Read rows, and end with the process that sends them."""
    with contextlib.suppress(EOFError, OSError, pickle.UnpicklingError):
        while True:
            tasks.put(pickle.load(sys.stdin.buffer))  # noqa: S301 - the parent's
    os._exit(1)  # a set that is being written is undone by the next run


def _limit_memory(most: int) -> None:
    try:
        import resource  # noqa: PLC0415 - Windows has none, nor such a limit
    except ImportError:
        return
    with contextlib.suppress(ValueError, OSError):  # where less is allowed already
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
