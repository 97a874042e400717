"""A run that is killed, or doubled, leaves a whole set of files or none."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from reliefsmith.errors import OutputError
from reliefsmith.formats.setwriting import NEW, OLD, read_set, write_set

from .sets import HERON, NEW_SET, OLD_SET, REPORT, content, files_of, is_new, is_old, write_heron

CALLS = ("write", "fsync", "replace", "open", "unlink")


KILLED_RUN = """
import os, sys
from pathlib import Path
from reliefsmith.formats.setwriting import write_set
left = int(sys.argv[2])
def dying(call):
    def run(*args, **kwargs):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
        return call(*args, **kwargs)
    return run
for name in ("write", "replace", "unlink", "fsync"):
    setattr(os, name, dying(getattr(os, name)))
files = {"heron.3mf": b"new three, longer", "heron-base.stl": b"new base", "heron.svg": b"new svg"}
write_set(Path(sys.argv[1]), files, "heron-report.json", {"schema": 1, "picture": {"name": "heron.png"}})
"""


def _kill_at(folder: Path, number: int) -> None:
    write_heron(folder, OLD_SET)
    command = [sys.executable, "-c", KILLED_RUN, str(folder), str(number)]
    killed = subprocess.run(command, check=False).returncode == -signal.SIGKILL
    assert is_old(folder) or is_new(folder) or (killed and not read_set(folder).is_set)
    write_heron(folder, NEW_SET)
    assert files_of(folder) == dict(sorted(NEW_SET.items()))
    assert is_new(folder)


@pytest.mark.skipif(os.name != "posix", reason="kills with a signal")
@pytest.mark.parametrize("number", [2, 9, 12, 17])
def test_a_killed_run_leaves_the_old_set_or_none_and_the_next_one_cleans_up(
    tmp_path: Path, number: int
) -> None:
    _kill_at(tmp_path, number)


@pytest.mark.deep
@pytest.mark.skipif(os.name != "posix", reason="kills with a signal")
@pytest.mark.parametrize("number", range(30))
def test_killed_at_every_call(tmp_path: Path, number: int) -> None:
    _kill_at(tmp_path, number)


def test_what_a_killed_run_set_aside_comes_back_when_the_next_run_fails(tmp_path: Path) -> None:
    write_heron(tmp_path, OLD_SET)
    before = content(tmp_path)
    for name in (REPORT, "heron.3mf"):
        (tmp_path / name).rename(tmp_path / f"{OLD}{name}")
    (tmp_path / "heron.3mf").write_bytes(NEW_SET["heron.3mf"])
    (tmp_path / f"{NEW}heron.svg").write_bytes(b"half")
    assert not read_set(tmp_path).is_set
    (tmp_path / "heron-base.stl").mkdir()
    with pytest.raises(OutputError, match=r"heron-base\.stl is there and is no file"):
        write_heron(tmp_path, NEW_SET)
    (tmp_path / "heron-base.stl").rmdir()
    assert content(tmp_path) == before


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such lock")
def test_a_second_run_into_the_same_folder_is_turned_away(tmp_path: Path) -> None:
    def slow() -> Iterator[bytes]:
        yield b"one"

    write_heron(tmp_path, OLD_SET)
    import fcntl

    handle = os.open(tmp_path, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        with pytest.raises(OutputError, match="another run is writing into"):
            write_set(tmp_path, {"heron.3mf": slow()}, REPORT, HERON)
    finally:
        os.close(handle)
    assert is_old(tmp_path)
