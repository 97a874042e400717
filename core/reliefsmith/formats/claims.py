"""Which files of a folder a run may replace: its own earlier ones, never an input, never anybody else's.

A report says of which picture a set is ("picture": its file's name and the SHA-256 of its bytes), or of which
kind it is where no picture is in it ("kind", such as that of a test piece).
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputTakenError, OutputError, TakenError
from .setreading import REPORT_SUFFIX, read_listed, read_report
from .stems import printable

__all__ = ["Claim", "given_file", "given_folder", "same_origin"]


@dataclass(frozen=True, slots=True)
class Claim:
    """What a run may do to the files that are there before it.

    Parameters
    ----------
    inputs : tuple of Path
        Files that the run reads; they are never replaced.
    replace : bool
        Whether files of others may be replaced.
    """

    inputs: tuple[Path, ...] = ()
    replace: bool = False

    def is_input(self, path: Path) -> bool:
        """Return whether a path leads to a file that the run reads."""
        return any(_same_file(path, one) for one in self.inputs)

    def require_set(self, folder: Path, files: Mapping[str, bytes], report: Mapping[str, Any]) -> None:
        """Check that every file of a set may be put into a folder.

        A file with the very same bytes is nobody's loss; what is no file is the writer's to refuse.

        Parameters
        ----------
        folder : Path
        files : mapping of name to bytes
            All that will be written, the report too.
        report : mapping
            With "picture" or "kind" of the new set.

        Raises
        ------
        TakenError
            If an input or the file of somebody else is in the way; it names the first such file.
        """
        there = [name for name in files if (folder / name).is_file()]
        changed = [name for name in there if not _holds(folder / name, files[name])]
        own = _own_files(folder, report) if changed else frozenset()
        for name in sorted(changed, key=lambda one: not one.endswith(REPORT_SUFFIX)):
            path = folder / name
            if self.is_input(path):
                raise InputTakenError(f"{printable(path)} would be replaced, and this run reads it")
            if not self.replace and name not in own:
                raise TakenError(_why(path))

    def require_file(self, path: Path, data: bytes) -> None:
        """Check that a file of its own, which no report lists, may be written.

        Raises
        ------
        TakenError
            If there is one with other bytes.
        """
        if not path.is_file() or _holds(path, data):
            return
        if self.is_input(path):
            raise InputTakenError(f"{printable(path)} would be replaced, and this run reads it")
        if not self.replace:
            raise TakenError(f"{printable(path)} is there already")


def given_folder(folder: str | Path) -> Path:
    """Return the folder that was given for files.

    Raises
    ------
    OutputError
        If it is an empty name, which would be the current folder, or no path.
    """
    if not isinstance(folder, (str, os.PathLike)):
        raise OutputError(f"the folder for the files must be a path, got {type(folder).__name__}")
    if not os.fspath(folder):
        raise OutputError('no folder is given for the files; name one, "." for the current folder')
    return Path(folder)


def given_file(file: str | Path) -> Path:
    """Return the file that was given for what is written.

    Raises
    ------
    OutputError
        If it is an empty name.
    """
    if not os.fspath(file):
        raise OutputError("no file is given for the areas; name one that ends in .svg or .geojson")
    return Path(file)


def same_origin(old: Mapping[str, Any], new: Mapping[str, Any]) -> bool:
    """Return whether two reports are of the same picture, by its file's name or its bytes.

    Examples
    --------
    >>> kite = {"picture": {"name": "kite.png", "sha256": "ab"}}
    >>> same_origin(kite, {"picture": {"name": "kite.png", "sha256": "cd"}})
    True
    >>> same_origin(kite, {"picture": {"name": "kite.jpg", "sha256": "cd"}}), same_origin({}, {})
    (False, False)
    """
    if old.get("kind") != new.get("kind"):
        return False
    before, now = old.get("picture"), new.get("picture")
    if before is None and now is None:
        return new.get("kind") is not None
    if not isinstance(before, Mapping) or not isinstance(now, Mapping):
        return False
    return any(now.get(key) and before.get(key) == now.get(key) for key in ("name", "sha256"))


def _own_files(folder: Path, report: Mapping[str, Any]) -> frozenset[str]:
    """Return the names that earlier reports of the same origin list, and no report of another."""
    own: set[str] = set()
    others: set[str] = set()
    for path in folder.iterdir():
        if not path.name.endswith(REPORT_SUFFIX) or path.name.startswith("."):
            continue
        old = read_report(path)
        listed = read_listed(old)
        if listed is not None:
            (own if same_origin(old, report) else others).update(listed, (path.name,))
    return frozenset(own - others)


def _why(path: Path) -> str:
    """Say whose file is in the way."""
    told = printable(path)
    old = read_report(path) if path.name.endswith(REPORT_SUFFIX) else {}
    if read_listed(old) is None:
        return f"{told} was not written by an earlier run of this picture and would be replaced"
    picture = old.get("picture")
    name = picture.get("name") if isinstance(picture, Mapping) else None
    if isinstance(name, str) and name:
        return f"{told} is of another picture, {printable(name)}, whose files would be replaced"
    return f"{told} is of another job, whose files would be replaced"


def _holds(path: Path, data: bytes) -> bool:
    """Return whether a file holds just these bytes."""
    try:
        return path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False


def _same_file(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)  # noqa: PTH121 - the paths are of equal rank
    except (OSError, ValueError):
        return False
