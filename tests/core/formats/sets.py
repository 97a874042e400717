"""Two sets of files of one picture, an old and a new one, and how a folder that holds them is looked at."""

from __future__ import annotations

from pathlib import Path

from reliefsmith.formats.setwriting import read_set, write_set

REPORT = "heron-report.json"
OLD_SET = {"heron.3mf": b"old three", "heron-red.stl": b"old red", "heron.svg": b"old svg"}
NEW_SET = {"heron.3mf": b"new three, longer", "heron-base.stl": b"new base", "heron.svg": b"new svg"}
HERON = {"picture": {"name": "heron.png", "sha256": "0" * 64}}


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def files_of(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in content(folder).items() if name != REPORT}


def write_heron(folder: Path, files: dict[str, bytes], style: str = "raised") -> None:
    write_set(folder, files, REPORT, {"schema": 1, "files": {}, "style": style, **HERON})


def is_new(folder: Path) -> bool:
    return read_set(folder).is_set and all((folder / n).read_bytes() == d for n, d in NEW_SET.items())


def is_old(folder: Path) -> bool:
    return read_set(folder).is_set and all((folder / n).read_bytes() == d for n, d in OLD_SET.items())
