"""A whole `make` in a process of its own, with faults let in, and what may be in its folder afterwards."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TypeAlias

import numpy as np
from PIL import Image

from reliefsmith.formats.folder import NEW, OLD, read_set

__all__ = ["Sets", "command", "content", "draw", "fail_at", "finished", "kill_once", "started", "two_sets"]

Sets: TypeAlias = tuple[Path, Path, Path]
"""A picture, its old set and its new one."""

FAULTY = """
import errno, os, sys
from reliefsmith.cli import run
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
import reliefsmith.pipeline, reliefsmith.output, reliefsmith.documents.sheet, reliefsmith.console
for name in ("write", "fsync", "replace", "mkdir", "open"):
    faulty(name)
status = run(sys.argv[1:])
sys.stderr.write(f"calls {calls}\\n")
raise SystemExit(status)
"""
"""`make` where the n-th of the calls that change a disk fails with an error; it tells how many there were."""


def draw(folder: Path) -> Path:
    """A lamp of 60 px: a run takes a second."""
    y, x = np.mgrid[:60, :60] - 29.5
    pixels = np.zeros((60, 60, 4), np.uint8)
    pixels[5:55, 5:55] = (30, 90, 200, 255)
    pixels[x * x + y * y < 200] = (240, 200, 40, 255)
    path = folder / "lamp.png"
    Image.fromarray(pixels).save(path)
    return path


def command(picture: Path, folder: Path, width: int) -> list[str]:
    """The words of one run; two widths give two sets that differ in every part."""
    return ["make", str(picture), "-o", str(folder), "--width", str(width), "--quiet"]


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


def two_sets(folder: Path) -> Sets:
    """Make a picture and its sets at two widths: the old one and the new one."""
    picture = draw(folder)
    for width in (40, 50):
        status, said = finished(command(picture, folder / str(width), width))
        assert status in (0, 1), said
    return picture, folder / "40", folder / "50"


def kill_once(sets: Sets, folder: Path, seconds: float) -> bool:
    """Kill a run over an old set after some time; the value says whether it was still at work."""
    picture, old, new = sets
    shutil.copytree(old, folder)
    run = started(command(picture, folder, 50))
    time.sleep(seconds)
    run.kill()
    run.communicate()
    assert_whole(folder, content(old), content(new), maybe_none=True)
    status, said = finished(command(picture, folder, 50))
    assert status in (0, 1), said
    assert content(folder) == content(new), "a temporary or a mix is left after the next run"
    return run.returncode == -signal.SIGKILL


def fail_at(sets: Sets, folder: Path, number: int, code: str) -> int:
    """Let the n-th call of a run over an old set fail; the value is the number of calls."""
    picture, old, new = sets
    shutil.copytree(old, folder)
    status, said = finished(command(picture, folder, 50), "-c", FAULTY, str(number), code)
    *lines, last = said.strip().splitlines()
    assert last.startswith("calls ")
    if status == 2:
        assert len(lines) == 1, said
        assert lines[0].startswith("error: "), said
        assert content(folder) == content(old), said
    else:
        assert status in (0, 1), said
        assert lines == [], said
        assert content(folder) == content(new)
    return int(last.split()[1])
