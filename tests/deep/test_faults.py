"""Faults of the disk, kills and full disks over a whole `make`, at every place and at random moments."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from pathlib import Path
from random import Random

import pytest

from deep import runs

pytestmark = [
    pytest.mark.deep,
    pytest.mark.skipif(os.name != "posix", reason="uses signals of POSIX systems"),
]

KILLS = int(os.environ.get("RELIEFSMITH_KILLS", "500"))
TMPFS_KIB = (4, 8, 12, 16, 24, 32, 48, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384, 512, 1024)


@pytest.fixture(scope="module", params=runs.SETTINGS)
def sets(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> runs.Sets:
    return runs.two_sets(tmp_path_factory.mktemp("sets"), request.param)


@pytest.mark.parametrize("code", ["ENOSPC", "EIO"])
def test_each_call_of_a_whole_run_fails_once(sets: runs.Sets, tmp_path: Path, code: str) -> None:
    number = 0
    while (
        runs.fail_at(sets, tmp_path / "set", number, code) > number
    ):  # fewer calls: the fault was not reached
        shutil.rmtree(tmp_path / "set")
        number += 1
    assert number > 20
    print(f"{number} calls, each failed once with {code}")


def test_kills_at_random_moments(sets: runs.Sets, tmp_path: Path) -> None:
    began = time.monotonic()
    assert runs.finished(sets.run(tmp_path / "timed"))[0] in (0, 1)
    whole, rng, killed = time.monotonic() - began, Random(11), 0
    kills = max(1, KILLS // len(runs.SETTINGS))
    for number in range(kills):
        # Half of the kills fall into the last fifth of a run, where files are written.
        share = rng.uniform(0.8, 1.1) if number % 2 else rng.uniform(0.0, 1.0)
        killed += runs.kill_once(sets, tmp_path / "set", whole * share)
        shutil.rmtree(tmp_path / "set")
    print(f"{kills} runs, {killed} killed at work")
    assert killed > kills // 4


@pytest.mark.parametrize("size_kib", TMPFS_KIB)
def test_a_small_disk_holds_the_old_set_or_the_new_one(
    sets: runs.Sets,
    tmp_path: Path,
    size_kib: int,
) -> None:
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size_kib}k", "tmpfs", str(tmp_path)],
        check=False,
        capture_output=True,
    )
    if mounted.returncode != 0:
        pytest.skip("this user may not mount a small disk")
    folder = tmp_path / "set"
    try:
        try:
            shutil.copytree(sets.old, folder)
        except shutil.Error:
            shutil.rmtree(folder)  # not even the old set has room: start with an empty disk
        before = runs.content(folder)
        status, said = runs.finished(sets.run(folder))
        if status == 2:
            assert "no space left on device; free some space" in said
            assert runs.content(folder) == before
        else:
            assert runs.content(folder) == runs.content(sets.new)
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


def test_two_runs_into_one_folder_give_one_whole_set(sets: runs.Sets, tmp_path: Path) -> None:
    for number in range(5):
        folder = tmp_path / str(number)
        both = [runs.started(sets.run(folder, new=new)) for new in (False, True)]
        ends = [(*run.communicate(timeout=300), run.returncode) for run in both]
        for _, said, status in ends:
            assert status in (0, 1) or (status == 2 and "another run is writing" in said), ends
        assert runs.content(folder) in (runs.content(sets.old), runs.content(sets.new))
