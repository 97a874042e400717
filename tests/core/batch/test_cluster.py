"""A Dask cluster of this machine makes the same bytes, and loses nothing when its parts are killed."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from distributed import cfexecutor

from daskcluster import cluster
from reliefsmith.batch.cluster import about_here, handed_back, made_there
from reliefsmith.batch.done import Outcome
from reliefsmith.batch.engine import hired
from reliefsmith.batch.rows import read_rows, row_recipes
from reliefsmith.batch.rowwork import Limits, Task
from reliefsmith.command.cli import run
from reliefsmith.errors import OutputError, RecipeError

from .runs import (
    ROWS,
    all_stand,
    begun,
    children,
    draw_deadly,
    finished,
    ledger,
    wait_for_rows,
    whole,
)

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")

OTHER = """
import sys
from reliefsmith.batch import cluster
from reliefsmith.command.cli import run
versions = cluster.versions
cluster.versions = lambda: {**versions(), "numpy": "0.9"}
raise SystemExit(run(sys.argv[1:]))
"""
"""A batch of a machine with another numpy than the workers have."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with cluster() as (found, _):
        yield found


def test_its_bytes_are_those_of_one_process_and_each_row_stands_once(
    table: Path, straight: Path, address: str
) -> None:
    out = table.parent / "out"
    for state in ("made", "kept"):
        process = begun(table, out, "--scheduler", address)
        _, told = process.communicate(timeout=240)
        assert told == f"{ROWS} rows: {ROWS} {state}; written to {out}\n"
        assert process.returncode == 0
    all_stand(out, straight)


def test_a_worker_that_is_killed_loses_nothing(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    with cluster() as (address, scheduler):
        process = begun(table, out, "--scheduler", address)
        wait_for_rows(process, out, 1)
        workers = [worker for nanny in [scheduler.pid] for worker in children(nanny)]
        os.kill(workers[-1], signal.SIGKILL)
        _, told = process.communicate(timeout=240)
    assert process.returncode == 0, told
    assert told.count("\n") == 1
    all_stand(out, straight)


def test_an_interrupt_lets_rows_end_that_have_begun(table: Path, straight: Path, address: str) -> None:
    out = table.parent / "out"
    process = begun(table, out, "--scheduler", address)
    wait_for_rows(process, out, 1)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=120)
    assert process.returncode == 130
    assert told.count("\n") == 1
    done = [entry["row"] for entry in ledger(out)]
    assert len(done) < ROWS
    assert whole(out) == [f"{row:04d}" for row in sorted(done)]
    finished(table, out, straight)


@pytest.mark.deep
def test_a_lost_scheduler_is_waited_for_and_the_next_one_goes_on(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with cluster(port) as (address, scheduler):
        process = begun(table, out, "--scheduler", address)
        wait_for_rows(process, out, 1)
        scheduler.kill()
    with cluster(port):
        _, told = process.communicate(timeout=240)
    assert process.returncode == 0, told
    assert told.count("\n") == 1
    all_stand(out, straight)


@pytest.mark.deep
def test_a_row_that_ends_its_process_takes_no_worker_down(table: Path) -> None:
    out, env = table.parent / "out", draw_deadly(table, "dies")
    with cluster(**env) as (address, scheduler):
        before = children(scheduler.pid)
        _, told = begun(table, out, "--scheduler", address, **env).communicate(timeout=240)
        assert children(scheduler.pid) == before
    assert told.startswith("row 2: the process that made it ended at once"), told
    assert whole(out) == ["0001", "0003"]


def test_workers_with_other_versions_are_refused_in_one_line(table: Path, address: str) -> None:
    out = table.parent / "out"
    words = ["batch", str(table), "-o", str(out), "--scheduler", address]
    done = subprocess.run([sys.executable, "-c", OTHER, *words], capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert done.stderr.count("\n") == 1
    assert "not 0.9: its files would differ" in done.stderr
    assert not out.exists()


def test_a_worker_that_joins_later_is_looked_at_too(table: Path) -> None:
    row = read_rows(table, row_recipes(None, None, None))[0]
    folder, wanted = table.parent, about_here(table.parent)[0]
    task = Task(row, folder, False, Limits(), folder / "stopped", folder)
    assert made_there(task, wanted) is None
    with pytest.raises(OutputError, match=r"Python 3.*, not 2\.7: its files would differ"):
        made_there(task, {**wanted, "Python": "2.7"})
    with pytest.raises(OutputError, match=r"does not see .*gone; choose a folder that all machines share"):
        made_there(Task(row, folder / "gone", False, Limits(), folder / "stopped", folder), wanted)


class Gathered:
    """A row of Dask's: its outcome came in, and then its worker went."""

    def __init__(self, status: str, result: object) -> None:
        self.status, self.given = status, result

    async def _result(self, *, raiseit: bool) -> object:
        assert not raiseit
        return self.given


@pytest.mark.parametrize(
    ("status", "result", "ends"),
    [
        ("finished", Outcome(3, "key"), "made"),
        ("lost", Outcome(3, "key"), "again"),
        ("cancelled", None, "again"),
        ("error", TypeError("of the row"), "told"),
        ("error", ValueError("of the row"), "told"),
    ],
)
def test_an_outcome_that_is_lost_on_its_way_is_no_error(status: str, result: Any, ends: str) -> None:
    if ends == "told":  # as raised there, with the frames it has there
        try:
            raise result
        except (TypeError, ValueError) as error:
            result = (type(error), error, error.__traceback__)
    there: Future[Outcome] = Future()
    here: Future[Outcome] = Future()
    there.add_done_callback(partial(handed_back, here))

    async def gathered() -> None:
        await cfexecutor._cascade_future(Gathered(status, result), there)

    asyncio.run(gathered())
    assert here.done()
    assert here.cancelled() is (ends == "again")
    if ends == "made":
        assert here.result() is result
    elif ends == "told":
        assert "of the row" in str(here.exception())


def test_what_cannot_be_asked_of_a_cluster_is_one_line(table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(RecipeError, match="leave one out"):
        hired(2, "tcp://127.0.0.1:1")
    out = table.parent / "out"
    assert run(["batch", str(table), "-o", str(out), "--scheduler", "kite:"]) == 2
    assert not out.exists()
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(OutputError, match=r"install reliefsmith\[dask\]"):
        hired(None, "tcp://127.0.0.1:1")
