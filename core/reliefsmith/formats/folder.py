"""Write a set of files so that a reader finds the old set or the whole new one, never a mix.

The report is the commit record: it holds the SHA-256 of every file and is put in place last. Files are
written under temporary names in the same folder and synced before the old set is touched; then the old
report is set aside, the files are renamed, and the report follows. What goes wrong before the end is undone;
what a killed run left is undone by the next one. Against power loss this is as good as the disk's own flush.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import OutputError
from .sets import REPORT_SUFFIX, SetState, listed_files, read_set
from .stems import printable, safe_stem

try:
    import fcntl
except ImportError:  # Windows has no such lock; the exclusive temporary names still keep two runs apart
    fcntl = None  # type: ignore[assignment]

__all__ = ["SetState", "read_set", "safe_stem", "write_file", "write_set"]

Content: TypeAlias = bytes | Iterable[bytes]

NEW, OLD = ".reliefsmith-new-", ".reliefsmith-old-"
"""Before the names of files not yet in place, and of files set aside until the new set stands."""


def write_set(
    folder: Path, files: Mapping[str, Content], report_name: str, report: Mapping[str, Any]
) -> dict[str, Any]:
    """Write files and their report into a folder as one set.

    Parameters
    ----------
    folder : Path
        Made if it is missing, also its parents.
    files : mapping of name to bytes, or to an iterable of bytes
        All of it is rendered before the folder is touched.
    report_name : str
    report : mapping
        JSON values; its "files" are filled in.

    Returns
    -------
    dict
        The report as written.

    Raises
    ------
    OutputError
        If the folder cannot be written or another run is writing there; then no new file is left.
    """
    content = {name: data if isinstance(data, bytes) else b"".join(data) for name, data in files.items()}
    _require_names_apart([*content, report_name])
    hashes = {name: hashlib.sha256(content[name]).hexdigest() for name in sorted(content)}
    written = {**report, "files": hashes}
    text = (json.dumps(written, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    with _plain_errors(folder), _made(folder), _locked(folder):
        _recover(folder)
        _replace_set(folder, content, report_name, text)
    return written


def write_file(path: Path, data: bytes) -> None:
    """Write one file whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written; then an older file of that name is as it was.
    """
    with _plain_errors(path):
        if not path.parent.is_dir():
            raise OutputError(f"cannot write {printable(path)}: its folder does not exist; make it first")
        moves = _Moves(path.parent)
        try:
            (path.parent / f"{NEW}{path.name}").unlink(missing_ok=True)  # left by a killed run
            moves.write(path.name, data)
            moves.put(path.name)
            _sync_folder(path.parent)
        except BaseException:
            moves.undo()
            raise
        moves.clear()


@dataclass(slots=True)
class _Moves:
    """Every change made to a folder, in order, so that it can be undone."""

    folder: Path
    done: list[tuple[str, str]] = field(default_factory=list)

    def write(self, name: str, data: bytes) -> None:
        """Write and sync a file under its temporary name."""
        path = self.folder / f"{NEW}{name}"
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        handle = os.open(path, flags, 0o666)
        self.done.append(("write", name))
        try:
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(handle, rest) :]
            os.fsync(handle)
        finally:
            os.close(handle)

    def set_aside(self, name: str) -> None:
        """Move an existing file out of the way; a missing one is fine, a folder or device is not."""
        path = self.folder / name
        if path.is_symlink() or path.exists():
            if not path.is_file():
                raise OSError(errno.EEXIST, f"{printable(name)} is there and is no file")
            path.replace(self.folder / f"{OLD}{name}")
            self.done.append(("aside", name))

    def put(self, name: str) -> None:
        """Move a written file to its place."""
        self.set_aside(name)
        (self.folder / f"{NEW}{name}").replace(self.folder / name)
        self.done.append(("put", name))

    def undo(self) -> None:
        """Take everything back, the last change first.

        If the new report cannot be taken back, the new set is complete and stays.
        """
        for kind, name in reversed(self.done):
            try:
                if kind == "aside":
                    (self.folder / f"{OLD}{name}").replace(self.folder / name)
                else:
                    (self.folder / (name if kind == "put" else f"{NEW}{name}")).unlink(missing_ok=True)
            except OSError:
                if kind == "put" and name.endswith(REPORT_SUFFIX):
                    return

    def clear(self) -> None:
        """Delete what was set aside; what cannot be deleted now is deleted by the next run."""
        for kind, name in self.done:
            if kind == "aside":
                with contextlib.suppress(OSError):
                    (self.folder / f"{OLD}{name}").unlink(missing_ok=True)


def _replace_set(folder: Path, content: Mapping[str, bytes], report_name: str, report: bytes) -> None:
    stale = [name for name in listed_files(folder / report_name) if name not in content]
    moves = _Moves(folder)
    try:
        for name, data in content.items():
            moves.write(name, data)
        moves.write(report_name, report)
        moves.set_aside(report_name)  # from here to the end the folder holds no set
        for name in stale:
            if (folder / name).is_file():
                moves.set_aside(name)
        for name in content:
            moves.put(name)
        _sync_folder(folder)
        moves.put(report_name)
        _sync_folder(folder)
    except BaseException:
        moves.undo()
        raise
    moves.clear()


def _recover(folder: Path) -> None:
    """Undo what a killed run left: unless its report stands, its moves are taken back; leftovers go."""
    names = sorted(os.listdir(folder))  # noqa: PTH208 - names are wanted, not paths
    for name in names:
        if name.startswith(NEW):
            (folder / name).unlink(missing_ok=True)
    aside = [name.removeprefix(OLD) for name in names if name.startswith(OLD)]
    reports = [name for name in aside if name.endswith(REPORT_SUFFIX)]
    committed = not any(not (folder / name).exists() for name in reports)
    for name in sorted(aside, key=lambda one: one.endswith(REPORT_SUFFIX)):
        if committed:
            (folder / f"{OLD}{name}").unlink(missing_ok=True)
        else:
            (folder / f"{OLD}{name}").replace(folder / name)


def _require_names_apart(names: Iterable[str]) -> None:
    """Check that names are plain and differ even where case and accents' encoding do not count."""
    seen: set[str] = set()
    for name in names:
        folded = unicodedata.normalize("NFC", name).casefold()
        if name in ("", ".", "..") or any(char in name for char in "/\\:\0") or name.startswith((NEW, OLD)):
            raise OutputError(f"{printable(name)!r} cannot be the name of a file; choose another title")
        if folded in seen:
            raise OutputError(f"two files of the set would be named {printable(name)}; rename a part")
        seen.add(folded)


@contextlib.contextmanager
def _plain_errors(place: Path) -> Iterator[None]:
    try:
        yield
    except OutputError:
        raise
    except (OSError, ValueError) as error:
        reason = str(getattr(error, "strerror", None) or "the name is not usable").lower()
        advice = (
            "free some space" if getattr(error, "errno", None) == errno.ENOSPC else "check its permissions"
        )
        raise OutputError(
            f"cannot write {printable(place)}: {reason}; {advice} or choose another folder with -o"
        ) from error


@contextlib.contextmanager
def _made(folder: Path) -> Iterator[None]:
    """Make a folder and its parents; take away again what was made if the rest fails."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    made: list[Path] = []
    try:
        for path in reversed(missing):
            with contextlib.suppress(FileExistsError):  # another run was quicker
                path.mkdir()
                made.append(path)
        yield
    except BaseException:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir()
        raise


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Hold the folder for this run; the lock goes with the process, so a killed run leaves none."""
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise OutputError(
                f"another run is writing into {printable(folder)}; wait for it or choose another folder"
            ) from error
        except OSError:
            pass  # some network file systems have no locks; the exclusive temporary names still hold
        yield
    finally:
        os.close(handle)


def _sync_folder(folder: Path) -> None:
    """Make renames last; only POSIX systems let a folder be synced."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
