"""A small day's work for tests: three rows of lamps, two of them in one set of filaments, names of people."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from lamps import draw_lamp
from reliefsmith.command.cli import run

__all__ = ["NAMES", "approval", "copied", "make_day"]

NAMES = ("Mirabel Tobin", "Oakhollow", "LARKWATER")
_TABLE = """picture,copies,order.customer,order.spelling,size.width_mm
blue.png,5,Mirabel Tobin,LARKWATER,40
blue.png,2,Oakhollow,,50
red.png,1,,,40
"""


def make_day(folder: Path) -> Path:
    """Make the sets of a table of three rows; the value is the batch's folder."""
    draw_lamp(folder / "blue.png", color=(30, 90, 200))
    draw_lamp(folder / "red.png", color=(180, 40, 60))
    (folder / "day.csv").write_text(_TABLE)
    day = folder / "day"
    assert run(["batch", str(folder / "day.csv"), "-o", str(day), "--jobs", "1", "--quiet"]) == 0
    return day


def copied(folder: Path, to: Path) -> Path:
    """Copy sets to where a test may change them."""
    return Path(shutil.copytree(folder, to, dirs_exist_ok=True))


def approval(folder: Path) -> dict[str, str]:
    """Return what is approved of a set."""
    (path,) = folder.glob("*-report.json")
    found: dict[str, str] = json.loads(path.read_text())["approval"]
    return found
