"""Whatever ends a process, a row or the disk: nothing is lost, torn or twice; the same command goes on."""

from __future__ import annotations

import contextlib
import errno
import os
import random
import shutil
import signal
import subprocess
import threading
import time
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from reliefsmith.batch import rowwork as work
from reliefsmith.batch.done import Outcome
from reliefsmith.batch.engine import Engine
from reliefsmith.batch.maker import end_makers
from reliefsmith.batch.rows import read_rows, row_recipes
from reliefsmith.batch.rowwork import Limits, Task
from reliefsmith.command.cli import run
from reliefsmith.walk.store import MemoryStore

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

DISKS_KIB = (4, 8, 16, 32, 48, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 448, 512, 640, 768)
FEW_KILLS, KILLS = 2, int(os.environ.get("RELIEFSMITH_KILLS", "100"))


def test_an_interrupt_leaves_whole_sets_and_the_same_command_goes_on(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    process = begun(table, out)
    wait_for_rows(process, out, 1)
    os.killpg(process.pid, signal.SIGINT)  # a terminal sends it to all of them
    _, told = process.communicate(timeout=120)
    assert process.returncode == 130
    assert told.count("\n") == 1
    assert "the same command goes on" in told
    done = [entry["row"] for entry in ledger(out)]
    assert len(done) < ROWS
    assert whole(out) == [f"{row:04d}" for row in sorted(done)]
    finished(table, out, straight)


def test_a_second_interrupt_ends_all_at_once(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    process = begun(table, out)
    wait_for_rows(process, out, 1)
    makers = children(process.pid)
    for _ in range(2):
        os.killpg(process.pid, signal.SIGINT)
        time.sleep(0.05)
    process.communicate(timeout=60)
    assert process.returncode == 130
    assert not any(Path(f"/proc/{pid}").exists() for pid in makers)
    finished(table, out, straight)


def test_a_worker_that_is_killed_takes_no_row_down(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    process = begun(table, out)
    wait_for_rows(process, out, 1)
    for child in children(process.pid)[-1:]:
        os.kill(child, signal.SIGKILL)
    process.communicate(timeout=240)
    assert process.returncode == 0
    all_stand(out, straight)


def test_a_row_that_ends_its_process_fails_alone(table: Path) -> None:
    out, env = table.parent / "out", draw_deadly(table, "dies")
    process = begun(table, out, **env)
    _, told = process.communicate(timeout=240)
    assert process.returncode == 3, told
    assert told.startswith("row 2: the process that made it ended at once"), told
    assert whole(out) == ["0001", "0003"]


def test_a_row_that_takes_for_ever_is_ended(table: Path) -> None:
    out, env = table.parent / "out", draw_deadly(table, "sleeps")
    process = begun(table, out, "--rows", "2", "--row-seconds", "1", **env)
    _, told = process.communicate(timeout=240)
    assert process.returncode == 3, told
    assert told.startswith("row 2: it took longer than 1 s"), told


def test_memory_is_bounded_for_each_row(table: Path, capsys: Any) -> None:
    Image.new("RGB", (12_000, 4_000), "navy").save(table.parent / "large.png")
    table.write_text("picture\nlamp-0.png\nlarge.png\n")
    out = table.parent / "out"
    words = ["batch", str(table), "-o", str(out), "--jobs", "1", "--row-gib", "0.75", "--quiet"]
    assert run(words) == 3
    assert "row 2: " in capsys.readouterr().err
    assert whole(out) == ["0001"]
    assert run([*words[:-3], "--row-gib", "0.01"]) == 2
    assert run([*words[:-3], "--row-seconds", "0.5"]) == 2


class Here:
    """Makes rows in this process, so that a test can let faults in."""

    def __init__(self, *lost: int) -> None:
        self.lost, self.renewed, self.closed, self.memory = [*lost], 0, False, MemoryStore()

    def rows_ahead(self) -> int:
        return 2

    def submit(self, task: Task) -> Future[Outcome | None]:
        future: Future[Outcome | None] = Future()
        if task.row.number in self.lost:
            self.lost.remove(task.row.number)
            future.cancel()
            future.set_running_or_notify_cancel()
        else:
            future.set_result(task.made(self.memory))
        return future

    def renew(self) -> None:
        self.renewed += 1

    def close(self, *, at_once: bool) -> None:
        self.closed = not at_once


def test_rows_that_are_lost_on_the_way_are_handed_out_again(table: Path) -> None:
    folder, hands = table.parent / "out", Here(2, 5)
    folder.mkdir()
    rows = read_rows(table, row_recipes(None, None, None))
    made = list(Engine(folder, False, Limits()).outcomes(rows, lambda *_: hands))
    assert sorted(one.number for one in made) == list(range(1, ROWS + 1))
    assert (hands.renewed, hands.closed) == (2, True)
    assert sorted(path.name for path in folder.iterdir()) == [f"{n:04d}" for n in range(1, ROWS + 1)]


def test_nothing_of_a_killed_run_stays_where_all_rows_are_done(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 0
    sign = Engine(out, False, Limits()).sign
    sign.parent.mkdir()
    sign.touch()
    finished(table, out, straight)


def test_a_full_disk_is_told_from_other_faults(table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = table.parent / "out"
    row = read_rows(table, row_recipes(None, None, None))[0]
    for code, full in ((errno.ENOSPC, True), (errno.EIO, False)):
        monkeypatch.setattr(os, "fsync", lambda _, code=code: (_ for _ in ()).throw(OSError(code, "kite")))
        outcome = work.make_row(row, folder, MemoryStore(), drawn=False)
        assert (outcome.full, bool(outcome.error)) == (full, True)


def test_killed_a_few_times_nothing_is_lost_torn_or_twice(table: Path, straight: Path) -> None:
    """Once one of its processes, once the batch itself."""
    assert sum(killed(table, straight, seed) for seed in range(FEW_KILLS)) > 0


@pytest.mark.deep
def test_killed_at_any_time_nothing_is_lost_torn_or_twice(table: Path, straight: Path) -> None:
    at_work = sum(killed(table, straight, seed) for seed in range(FEW_KILLS, FEW_KILLS + KILLS))
    print(f"{KILLS} runs, {at_work} killed at work")
    assert at_work > KILLS // 2


def killed(table: Path, straight: Path, seed: int) -> bool:
    """Kill the batch itself, or one of its processes, at a random moment; true where it was at work."""
    chance, out = random.Random(seed), table.parent / f"out-{seed}"
    process = begun(table, out)
    wait_for_rows(process, out, chance.randrange(ROWS))
    time.sleep(chance.uniform(0.0, 0.5))
    victims = [process.pid] if seed % 2 else children(process.pid)[-1:]
    at_work = bool(victims) and process.poll() is None
    for pid in victims:
        with contextlib.suppress(ProcessLookupError):  # it has just ended
            os.kill(pid, signal.SIGKILL)
    process.communicate(timeout=240)
    finished(table, out, straight)
    return at_work


@pytest.mark.deep
@pytest.mark.parametrize("size_kib", DISKS_KIB)
def test_a_full_disk_tears_nothing_and_with_room_the_same_command_goes_on(
    table: Path, straight: Path, size_kib: int
) -> None:
    out = table.parent / "disk"
    out.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size_kib}k", "tmpfs", str(out)]
    if subprocess.run(mount, check=False, capture_output=True).returncode != 0:
        pytest.skip("this user may not mount a small disk")
    try:
        process = begun(table, out, "--jobs", "2")
        _, told = process.communicate(timeout=240)
        if process.returncode == 2:
            assert told.count("\n") == 1, told
            assert "no space left on device" in told.lower(), told
            assert len(whole(out)) < ROWS
        else:
            assert process.returncode == 0, told
        subprocess.run(["mount", "-o", "remount,size=64m", str(out)], check=True)
        finished(table, out, straight)
    finally:
        subprocess.run(["umount", str(out)], check=True)


def test_processes_end_when_they_are_told_to(table: Path) -> None:
    before = threading.active_count()
    assert run(["batch", str(table), "-o", str(table.parent / "out"), "--jobs", "2", "--quiet"]) == 0
    assert children(os.getpid()) == [] or not _makers()
    assert threading.active_count() == before
    end_makers()  # there are none, and it says nothing


def _makers() -> list[int]:
    found = subprocess.run(
        ["ps", "-o", "args=", "--ppid", str(os.getpid())], capture_output=True, text=True, check=True
    )
    return [1 for line in found.stdout.splitlines() if "batch.maker" in line]


def test_a_folder_that_a_killed_run_still_fills_is_no_hindrance(
    table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The processes of a killed run end a moment after it, and a folder they write into cannot be removed."""
    engine = Engine(table.parent / "out", False, Limits())
    (engine.sign.parent / "0").mkdir(parents=True)
    monkeypatch.setattr(shutil, "rmtree", lambda *_, **__: None)
    rows = read_rows(table, row_recipes(None, None, None))
    assert next(iter(engine.outcomes(rows[:1], lambda *_: Here()))).error == ""
