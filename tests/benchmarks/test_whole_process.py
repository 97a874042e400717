"""Time and memory of the whole command by compositions that only find areas, as ratios in one run.

Run with `pytest -m bench -s tests/benchmarks/test_whole_process.py`. `make` reads the picture, finds areas,
plans, builds, checks and writes every file; the compositions of `speed_areas.py` read it and give one
polygon a color. All run as processes of their own, imports included (bytecode kept, as installed packages
have it), in turn, so that a machine whose speed drifts treats them alike; ratios are taken within each round
and the middle one counts.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import speed_areas

ROUNDS = {0.6: 5, 12.0: 5, 48.0: 3}
LIMITS = {0.6: 4.0, 12.0: 1.0, 48.0: 0.5}
"""Times of `make` by those of the fastest composition, by megapixels."""
MOST_MB = 700.0
HELP_S, VERSION_S = 0.3, 0.15

# A small parent that measures: a child's peak memory begins at that of the process it was forked from.
MEASURE = """
import json, os, subprocess, sys, time
begin = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, used = os.wait4(child.pid, 0)
wall = time.perf_counter() - begin
work = used.ru_utime + used.ru_stime
print(json.dumps([os.waitstatus_to_exitcode(status), wall, work, used.ru_maxrss / 1024]))
"""


@dataclass(frozen=True)
class Run:
    """One finished process: exit status, seconds passed, seconds of work, peak memory."""

    status: int
    wall: float
    work: float
    peak_mb: float


@pytest.fixture(scope="module", autouse=True)
def _bytecode(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Let Python keep bytecode, in a folder of this run, also where the environment forbids it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.setenv("PYTHONPYCACHEPREFIX", str(tmp_path_factory.mktemp("bytecode")))
        yield


def run(*command: str) -> Run:
    done = subprocess.run(
        [sys.executable, "-S", "-E", "-c", MEASURE, *command], check=True, capture_output=True, text=True
    )
    return Run(*json.loads(done.stdout))


def commands(picture: Path, colors: int, target: Path) -> dict[str, tuple[str, ...]]:
    """Return the command lines that are compared."""
    baseline = (sys.executable, speed_areas.__file__, "--child")
    others = {
        name: (*baseline, name, str(picture), str(colors), "1")
        for name in speed_areas.METHODS
        if name != "ours"
    }
    ours = (sys.executable, "-m", "reliefsmith", "make", str(picture), "-o", str(target), "--quiet")
    return {"ours": ours, **others}


def middle(runs: list[Run], what: str) -> float:
    return statistics.median(getattr(item, what) for item in runs)


@pytest.mark.bench
@pytest.mark.parametrize("megapixels", sorted(LIMITS))
def test_make_is_faster_than_compositions_that_only_find_areas(megapixels, tmp_path):
    ratios, peaks = [], []
    print(f"\n{megapixels:g} megapixels: seconds passed (of work), peak MB")
    for colors in sorted(speed_areas.ARTS):
        picture = speed_areas.draw(colors, megapixels, tmp_path)
        lines = commands(picture, colors, tmp_path / "set")
        rounds: dict[str, list[Run]] = {name: [] for name in lines}
        for count in range(ROUNDS[megapixels] + 1):
            for name, line in lines.items():
                done = run(*line)
                assert done.status in ((0, 1) if name == "ours" else (0,))
                if count:  # the first round only warms the file cache
                    rounds[name].append(done)
        picture.unlink()
        fastest = min(
            (name for name in lines if name != "ours"), key=lambda name: middle(rounds[name], "work")
        )
        pairs = list(zip(rounds["ours"], rounds[fastest], strict=True))
        ratio = statistics.median(own.wall / other.wall for own, other in pairs)
        by_work = statistics.median(own.work / other.work for own, other in pairs)
        told = "  ".join(
            f"{name} {middle(runs, 'wall'):.2f} ({middle(runs, 'work'):.2f}), {middle(runs, 'peak_mb'):.0f}"
            for name, runs in rounds.items()
        )
        print(f"  {colors} colors: {told}  ratio to {fastest} {ratio:.2f} ({by_work:.2f})")
        ratios.append(ratio)
        peaks.append(max(item.peak_mb for item in rounds["ours"]))
    assert max(peaks) < MOST_MB
    assert statistics.geometric_mean(ratios) <= LIMITS[megapixels], ratios


@pytest.mark.bench
@pytest.mark.parametrize(("option", "limit"), [("--help", HELP_S), ("--version", VERSION_S)])
def test_the_command_answers_at_once(option, limit):
    runs = [run(sys.executable, "-m", "reliefsmith", option) for _ in range(9)]
    best = min(item.wall for item in runs)
    print(f"\n{option}: {best:.3f} s passed at best, {min(item.work for item in runs):.3f} s of work")
    assert all(item.status == 0 for item in runs)
    assert best <= limit
