"""What a batch costs: processes against one, rows against single runs, a cluster against processes, memory.

Run with `pytest -m bench -s tests/benchmarks/test_batch_scale.py`; `RELIEFSMITH_ROWS` (200) rows of the kite
that differ by the wall of the hole, in `RELIEFSMITH_ROUNDS` (3). Ratios are taken within each round, so that
a machine whose speed drifts treats both alike, and the middle one counts. On a busy machine the second core
is not there: `RELIEFSMITH_QUIET=0` leaves out the limits of ratios by the clock.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import pytest

from daskcluster import cluster

pytestmark = pytest.mark.bench

SAMPLES = Path(__file__).parents[2] / "samples"
ROWS = int(os.environ.get("RELIEFSMITH_ROWS", "200"))
QUIET = os.environ.get("RELIEFSMITH_QUIET", "1") != "0"
ROUNDS, SINGLE, LONG = int(os.environ.get("RELIEFSMITH_ROUNDS", "3")), 20, 1000
LEAST_SPEED_UP, MOST_OF_SINGLE, MOST_OF_CLUSTER, MOST_GROWTH = 1.8, 0.25, 1.05, 1.1
SETTLED = 50
"""Rows after which a process has loaded all that it needs."""


@dataclass(frozen=True)
class Run:
    """Seconds passed, and seconds of work of the process and all that it began."""

    wall: float
    work: float


def run(*words: str) -> Run:
    begin = time.perf_counter()
    process = subprocess.Popen([sys.executable, "-m", "reliefsmith", *words, "--quiet"])
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return Run(time.perf_counter() - begin, used.ru_utime + used.ru_stime)


def draw_table(folder: Path, rows: int) -> Path:
    path = folder / "kites.csv"
    lines = [f"{SAMPLES / 'kite.png'},{SAMPLES / 'kite.toml'},{2 + n / 1000:.3f}" for n in range(rows)]
    path.write_text("\n".join(["picture,recipe,hang.wall_mm", *lines]) + "\n")
    return path


@pytest.fixture(scope="module")
def batch(tmp_path_factory: pytest.TempPathFactory):
    """Run the table into a fresh folder."""
    place, number = tmp_path_factory.mktemp("batch"), count()
    table = draw_table(place, ROWS)
    return lambda *words: run("batch", str(table), "-o", str(place / f"{next(number)}"), *words)


def test_two_processes_against_one(batch) -> None:
    rounds = [(batch("--jobs", "1"), batch("--jobs", "2")) for _ in range(ROUNDS)]
    for one, two in rounds:
        print(f"\n{ROWS} rows: one {one.wall:.1f} s, {one.work:.1f} of work;", end="")
        print(f" two {two.wall:.1f} s, {two.work:.1f} of work", end="")
    by_clock = statistics.median(one.wall / two.wall for one, two in rounds)
    by_work = statistics.median(two.work / one.work for one, two in rounds)
    print(f"\nspeed-up {by_clock:.2f}, work {by_work:.2f}")
    assert by_work <= 2 / LEAST_SPEED_UP
    assert by_clock >= LEAST_SPEED_UP or not QUIET


def test_rows_against_single_runs(batch, tmp_path) -> None:
    single = [
        run(
            "make",
            str(SAMPLES / "kite.png"),
            f"--recipe={SAMPLES / 'kite.toml'}",
            f"--set=hang.wall_mm={2 + number / 1000:.3f}",
            "-o",
            str(tmp_path / str(number)),
        ).work
        for number in range(SINGLE)
    ]
    alone = statistics.mean(single) * ROWS
    lean, drawn = batch("--jobs", "1"), batch("--jobs", "1", "--proofs")
    print(f"\n{ROWS} single runs {alone:.1f} s of work, by {SINGLE};", end="")
    print(f" rows {lean.work:.1f} ({lean.work / alone:.2f}),", end="")
    print(f" with proofs {drawn.work:.1f} ({drawn.work / alone:.2f})")
    assert lean.work / alone <= MOST_OF_SINGLE


def test_a_cluster_against_processes(batch) -> None:
    with cluster() as (address, _):
        batch("--scheduler", address)  # its workers load what they need
        rounds = [(batch("--scheduler", address), batch("--jobs", "2")) for _ in range(ROUNDS)]
    for there, here in rounds:
        print(f"\n{ROWS} rows: cluster {there.wall:.1f} s, two processes {here.wall:.1f}", end="")
    ratio = statistics.median(there.wall / here.wall for there, here in rounds)
    print(f"\nratio {ratio:.2f}")
    assert ratio <= MOST_OF_CLUSTER or not QUIET


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory as Linux tells it")
def test_memory_stays_flat(tmp_path) -> None:
    """Of each process, what is resident from its fiftieth row on, since there are two of them."""
    out = tmp_path / "out"
    words = ["batch", str(draw_table(tmp_path, LONG)), "-o", str(out), "--jobs", "2", "--quiet"]
    process = subprocess.Popen([sys.executable, "-m", "reliefsmith", *words])
    seen: dict[int, list[tuple[int, float]]] = {}
    while process.poll() is None:
        time.sleep(1.0)
        rows = (out / "ledger.jsonl").read_bytes().count(b"\n") if (out / "ledger.jsonl").exists() else 0
        for pid in children(process.pid):
            if resident := resident_mb(pid):
                seen.setdefault(pid, []).append((rows, resident))
    assert process.returncode == 0
    for pid, looks in seen.items():
        settled = [resident for rows, resident in looks if rows - looks[0][0] >= 2 * SETTLED]
        if not settled:  # begun anew at the end
            continue
        first, last = settled[: len(settled) // 10], settled[-len(settled) // 10 :]
        growth = statistics.median(last) / statistics.median(first)
        print(f"\nprocess {pid}: {statistics.median(first):.0f} MB after {SETTLED} rows,", end="")
        print(
            f" {statistics.median(last):.0f} at the end, most {max(settled):.0f}, growth {growth:.3f}", end=""
        )
        assert growth <= MOST_GROWTH


def children(pid: int) -> list[int]:
    return [
        int(word) for path in Path(f"/proc/{pid}/task").glob("*/children") for word in _text(path).split()
    ]


def resident_mb(pid: int) -> float:
    line = next((line for line in _text(Path(f"/proc/{pid}/status")).splitlines() if "VmRSS" in line), "")
    return float(line.split()[1]) / 1024 if line else 0.0


def _text(path: Path) -> str:
    try:
        return path.read_text()
    except OSError:  # it has ended
        return ""
