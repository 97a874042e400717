"""A whole run that fails, is killed or interrupted leaves the old set, the new one, or none at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from deep import runs

pytestmark = pytest.mark.skipif(os.name != "posix", reason="uses signals and modes of POSIX systems")

KILLS = 3
SAMPLES = Path(__file__).parents[3] / "samples"


@pytest.fixture(scope="module")
def sets(tmp_path_factory: pytest.TempPathFactory) -> runs.Sets:
    return runs.two_sets(tmp_path_factory.mktemp("sets"))


def test_a_killed_run_leaves_a_set_or_none_and_the_next_one_cleans_up(
    sets: runs.Sets, tmp_path: Path
) -> None:
    """Killed at places all along what it does to the disk; at random moments in the deep tier."""
    calls = runs.kill_at(sets, tmp_path / "whole", 10**6)
    assert calls > KILLS
    for number in range(KILLS):
        runs.kill_at(sets, tmp_path / f"{number}", number * calls // KILLS)


@pytest.mark.parametrize(
    ("number", "code"), [(0, "ENOSPC"), (1, "EIO"), (4, "ENOSPC"), (17, "EIO"), (30, "ENOSPC")]
)
def test_a_fault_in_a_whole_run_leaves_the_old_set(
    sets: runs.Sets, tmp_path: Path, number: int, code: str
) -> None:
    """Each call with either fault is tried in the deep tier."""
    runs.fail_at(sets, tmp_path / "set", number, code)


INTERRUPTED = """
import os, signal, sys
from reliefsmith import pipeline
from reliefsmith.command.cli import run
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs ignore it
at, steps, seen = int(sys.argv.pop(1)), pipeline.Job.relief_steps, 0
def interrupted(self, recipe):
    global seen
    walk = steps(self, recipe)
    while True:
        try:
            step = next(walk)
        except StopIteration as end:
            return end.value
        seen += 1
        if seen == at:
            os.kill(os.getpid(), signal.SIGINT)
        yield step
pipeline.Job.relief_steps = interrupted
status = run(sys.argv[1:])
sys.stderr.write(f"steps {seen}\\n")
raise SystemExit(status)
"""
"""A run that gets the signal of Ctrl-C at its n-th step, and tells how many steps it took."""


@pytest.mark.parametrize("step", [1, 12, 40])
def test_ctrl_c_ends_at_once_with_130_and_nothing_new(tmp_path: Path, step: int) -> None:
    words = ["make", str(SAMPLES / "lantern.png"), "-o", str(tmp_path / "set")]
    status, said = runs.finished(words, "-c", INTERRUPTED, str(step))
    *lines, last = said.strip().splitlines()
    assert last == f"steps {step}", said  # a later step would be work after the signal
    assert status == 130, said
    assert lines == ["interrupted, nothing was written"]
    assert list(tmp_path.iterdir()) == []


def test_two_runs_into_one_folder_give_one_whole_set(sets: runs.Sets, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    both = [runs.started(sets.run(folder, new=new)) for new in (False, True)]
    ends = [(*run.communicate(timeout=300), run.returncode) for run in both]
    assert any(status in (0, 1) for *_, status in ends), ends
    assert all(
        status in (0, 1) or (status == 2 and "another run is writing" in said) for _, said, status in ends
    ), ends
    assert runs.content(folder) in (runs.content(sets.old), runs.content(sets.new))


def test_a_folder_that_vanishes_is_one_plain_line(sets: runs.Sets, tmp_path: Path) -> None:
    work = tmp_path / "work"
    work.mkdir()
    gone = "import os, sys, shutil; os.chdir(sys.argv[1]); shutil.rmtree(sys.argv.pop(1)); "
    code = gone + "from reliefsmith.command.cli import run; raise SystemExit(run(sys.argv[1:]))"
    status, said = runs.finished([*sets.words[1], "--quiet"], "-c", code, str(work))
    assert status == 2, said
    assert len(said.strip().splitlines()) == 1
