"""A whole run that fails, is killed or interrupted leaves the old set, the new one, or none at all."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from random import Random

import pytest

from deep import runs

pytestmark = pytest.mark.skipif(os.name != "posix", reason="uses signals and modes of POSIX systems")

KILLS = 10
SAMPLES = Path(__file__).parents[3] / "samples"


@pytest.fixture(scope="module")
def sets(tmp_path_factory: pytest.TempPathFactory) -> runs.Sets:
    return runs.two_sets(tmp_path_factory.mktemp("sets"))


def test_a_killed_run_leaves_a_set_or_none_and_the_next_one_cleans_up(
    sets: runs.Sets, tmp_path: Path
) -> None:
    began = time.monotonic()
    assert runs.finished(sets.run(tmp_path / "timed"))[0] in (0, 1)
    whole = time.monotonic() - began
    rng = Random(7)
    killed = sum(
        runs.kill_once(sets, tmp_path / f"{n}", whole * rng.uniform(0.1, 1.05)) for n in range(KILLS)
    )
    assert killed


@pytest.mark.parametrize("code", ["ENOSPC", "EIO"])
@pytest.mark.parametrize("number", [0, 1, 4, 17, 30])
def test_a_fault_in_a_whole_run_leaves_the_old_set(
    sets: runs.Sets, tmp_path: Path, number: int, code: str
) -> None:
    runs.fail_at(sets, tmp_path / "set", number, code)


def test_ctrl_c_ends_within_a_second_with_130_and_nothing_new(tmp_path: Path) -> None:
    """Within a second on an idle machine; here the run may share it with others."""
    run = runs.started(["make", str(SAMPLES / "heron.jpg"), "-o", str(tmp_path / "set")])
    time.sleep(0.8)
    run.send_signal(signal.SIGINT)
    began = time.monotonic()
    _, said = run.communicate(timeout=60)
    if run.returncode in (0, 1):
        pytest.fail(f"the run was over before it was interrupted: {said}")
    assert run.returncode == 130, said
    assert time.monotonic() - began < 5.0
    assert said.strip().splitlines() == ["interrupted, nothing was written"]
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
    code = gone + "from reliefsmith.cli import run; raise SystemExit(run(sys.argv[1:]))"
    status, said = runs.finished([*sets.words[1], "--quiet"], "-c", code, str(work))
    assert status == 2, said
    assert len(said.strip().splitlines()) == 1
