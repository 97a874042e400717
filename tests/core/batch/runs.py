"""Batches as processes of their own, what is in their folders, and what must hold however they were ended."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from lamps import draw_lamp
from reliefsmith.batch.ledger import NAME
from reliefsmith.command.cli import run
from reliefsmith.formats.setreading import read_set

__all__ = [
    "ROWS",
    "all_stand",
    "begun",
    "children",
    "draw_deadly",
    "draw_table",
    "files",
    "finished",
    "ledger",
    "wait_for_rows",
    "whole",
]

ROWS = 6

# Stands for a library that a picture of its kind ends, or keeps busy for ever.
DEADLY = """
import os, time
def open_heif(file, **_):
    if os.environ["DEADLY"] == "dies":
        os.kill(os.getpid(), 9)
    time.sleep(1000)
"""


def draw_table(folder: Path) -> Path:
    """Rows of two small lamps with borders of their own, and names of those they are for."""
    for number, color in enumerate(((30, 90, 200), (180, 40, 60))):
        draw_lamp(folder / f"lamp-{number}.png", color=color)
    lines = [f"lamp-{n % 2}.png,Mirabel {n},{1 + n / 4}" for n in range(ROWS)]
    path = folder / "day.csv"
    path.write_text("\n".join(["picture,order.customer,base.border_mm", *lines]) + "\n")
    return path


def draw_deadly(table: Path, how: str) -> dict[str, str]:
    """Make the second of three rows one that "dies" or "sleeps" in the environment that is returned."""
    (table.parent / "pillow_heif.py").write_text(DEADLY)
    (table.parent / "lamp.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))
    table.write_text("picture\nlamp-0.png\nlamp.heic\nlamp-1.png\n")
    path = f"{table.parent}{os.pathsep}{os.environ.get('PYTHONPATH', '')}"
    return {"PYTHONPATH": path, "DEADLY": how}


def ledger(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / NAME).read_text().splitlines()]


def files(folder: Path) -> dict[str, bytes]:
    paths = [path for path in folder.rglob("*") if path.is_file() and path.name != NAME]
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def whole(folder: Path) -> list[str]:
    """The rows whose folder holds a whole set; anything beside sets and the ledger would be a torn one."""
    rows = sorted(path for path in folder.iterdir() if path.is_dir())
    return [path.name for path in rows if any(path.iterdir()) and read_set(path).is_set]


def begun(table: Path, out: Path, *words: str, **env: str) -> subprocess.Popen[str]:
    """Begin a batch, in two processes unless words say otherwise."""
    line = [sys.executable, "-m", "reliefsmith", "batch", str(table), "-o", str(out)]
    return subprocess.Popen(
        [*line, *(words or ("--jobs", "2"))],
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, **env},
    )


def children(pid: int) -> list[int]:
    """The processes that a process has begun."""
    found = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    )
    return [int(word) for word in found.stdout.split()]


def wait_for_rows(process: subprocess.Popen[str], out: Path, rows: int) -> None:
    """Wait until so many rows stand in the ledger, or the process has ended."""
    while process.poll() is None and not (
        (out / NAME).exists() and len((out / NAME).read_text().splitlines()) >= rows
    ):
        time.sleep(0.02)


def finished(table: Path, out: Path, straight: Path) -> None:
    """Go on, and check that all rows stand."""
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 0
    all_stand(out, straight)


def all_stand(out: Path, straight: Path) -> None:
    """Check that every row stands once, whole, as a run in one go made it in `straight`."""
    assert files(out) == files(straight)
    assert sorted(entry["row"] for entry in ledger(out)) == list(range(1, ROWS + 1))
