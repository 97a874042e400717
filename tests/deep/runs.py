"""A whole `make` in a process of its own, with faults let in, and what may be in its folder afterwards."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from lamps import draw_lamp
from reliefsmith.command import cli
from reliefsmith.formats.setwriting import NEW, OLD, read_set

__all__ = [
    "SETTINGS",
    "Sets",
    "content",
    "draw",
    "fail_at",
    "finished",
    "kill_at",
    "kill_once",
    "started",
    "two_sets",
]


@dataclass(frozen=True)
class Sets:
    """Two runs that write into one folder, and the sets that they gave.

    Parameters
    ----------
    words : tuple of list of str
        Of the run of the old set and of the new one, without the folder.
    old, new : Path
        Their sets.
    """

    words: tuple[list[str], list[str]]
    old: Path
    new: Path

    def run(self, folder: Path, *, new: bool = True) -> list[str]:
        """The words of a run into a folder."""
        return [*self.words[new], "-o", str(folder), "--quiet"]


FAULTY = """
import errno, os, sys
from reliefsmith.command.cli import run
left, code = int(sys.argv.pop(1)), getattr(errno, sys.argv.pop(1))
calls = 0
def faulty(name):
    call = getattr(os, name)
    def run(*args, **kwargs):
        global calls
        if name == "write" and args[0] <= 2:
            return call(*args, **kwargs)
        calls += 1
        if calls == left + 1:
            raise OSError(code, os.strerror(code))
        return call(*args, **kwargs)
    setattr(os, name, run)
import reliefsmith.walk.pipeline, reliefsmith.walk.output, reliefsmith.documents.sheet.sheet
import reliefsmith.command.console
import reliefsmith.jobs.testpiece
for name in ("write", "fsync", "replace", "mkdir", "open"):
    faulty(name)
status = run(sys.argv[1:])
sys.stderr.write(f"calls {calls}\\n")
raise SystemExit(status)
"""
"""A command where the n-th of the calls that change a disk fails; it tells how many there were."""

KILLED = FAULTY.replace("raise OSError(code, os.strerror(code))", "os.kill(os.getpid(), 9)")
"""The same, but it is killed there."""


def draw(folder: Path) -> Path:
    """A lamp of 60 px: a run takes a second."""
    return draw_lamp(folder / "lamp.png", side=60)


_PLATES = ("heights.style=sunk", "hang.hardware=none", "heights.face=down", "heights.split=pegs")
_ONE = ("heights.style=sunk", "hang.hardware=none", "size.width_mm=50")
SETTINGS = {
    "make": (("size.width_mm=40",), ("size.width_mm=50",)),
    "coupon": ((), ("heights.layer_mm=0.12", "heights.first_layer_mm=0.24")),
    # Two plates have files of their own, which the other set does not: they have to go, or to come.
    "plates": (_PLATES, _ONE),
    "plates last": (_ONE, _PLATES),
}
"""Kinds of runs: the settings of the old set and of the new one, which differ in every file."""


def _words(kind: str, picture: Path) -> tuple[list[str], list[str]]:
    start = ["coupon"] if kind == "coupon" else ["make", str(picture)]
    old, new = ([*start, *(f"--set={text}" for text in texts)] for texts in SETTINGS[kind])
    return old, new


def started(words: list[str], *before: str, **env: str) -> subprocess.Popen[str]:
    """Start a run; `before` stands for `-m reliefsmith`."""
    start = before or ("-m", "reliefsmith")
    return subprocess.Popen(
        [sys.executable, *start, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, **env},
    )


def finished(words: list[str], *before: str, **env: str) -> tuple[int, str]:
    """Run to the end; the value is the status and what was said on stderr."""
    run = started(words, *before, **env)
    _, said = run.communicate(timeout=300)
    return run.returncode, said


def content(folder: Path) -> dict[str, str]:
    """The SHA-256 of every file of a folder, by its name."""
    if not folder.is_dir():
        return {}
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def assert_whole(folder: Path, *sets: dict[str, str], maybe_none: bool = False) -> None:
    """The folder holds just one of the sets, or, after a kill, something that does not pass for a set."""
    found = content(folder)
    plain = {name: digest for name, digest in found.items() if not name.startswith((NEW, OLD))}
    if folder.is_dir() and read_set(folder).is_set:
        assert plain in sets, f"a mix passes for a set: {sorted(found)}"
    else:
        assert maybe_none or not found, f"no set and not empty: {sorted(found)}"


def two_sets(folder: Path, kind: str = "make") -> Sets:
    """Make a picture and the old and the new set of a kind."""
    old, new = _words(kind, draw(folder))
    sets = Sets((old, new), folder / "old", folder / "new")
    for place, is_new in ((sets.old, False), (sets.new, True)):
        status, said = finished(sets.run(place, new=is_new))
        assert status in (0, 1), said
    same = set(content(sets.old).items()) & set(content(sets.new).items())
    assert not same, f"a mix could not be told in {same}"
    return sets


def kill_once(sets: Sets, folder: Path, seconds: float) -> bool:
    """Kill a run over an old set after some time; the value says whether it was still at work."""
    shutil.copytree(sets.old, folder)
    run = started(sets.run(folder))
    time.sleep(seconds)
    run.kill()
    run.communicate()
    assert_whole(folder, content(sets.old), content(sets.new), maybe_none=True)
    status, said = finished(sets.run(folder))
    assert status in (0, 1), said
    assert content(folder) == content(sets.new), "a temporary or a mix is left after the next run"
    return run.returncode == -signal.SIGKILL


def kill_at(sets: Sets, folder: Path, number: int) -> int:
    """Kill a run over an old set at its n-th call to the disk; the value is the number of calls it made."""
    shutil.copytree(sets.old, folder)
    status, said = finished(sets.run(folder), "-c", KILLED, str(number), "EIO")
    if status != -signal.SIGKILL:
        assert status in (0, 1), said
        assert content(folder) == content(sets.new)
        return int(said.split()[-1])
    assert_whole(folder, content(sets.old), content(sets.new), maybe_none=True)
    assert cli.run(sets.run(folder)) in (0, 1)
    assert content(folder) == content(sets.new), "a temporary or a mix is left after the next run"
    return number


def fail_at(sets: Sets, folder: Path, number: int, code: str) -> int:
    """Let the n-th call of a run over an old set fail; the value is the number of calls."""
    shutil.copytree(sets.old, folder)
    status, said = finished(sets.run(folder), "-c", FAULTY, str(number), code)
    *lines, last = said.strip().splitlines()
    assert last.startswith("calls ")
    if status == 2:
        assert len(lines) == 1, said
        assert lines[0].startswith("error: "), said
        assert content(folder) == content(sets.old), said
    else:
        assert status in (0, 1), said
        assert lines == [], said
        assert content(folder) == content(sets.new)
    return int(last.split()[1])
