"""Write a set of files so that a reader finds the old set or the whole new one, never a mix.

The report is the commit record: it holds the SHA-256 of every file and is put in place last. Files are
written under temporary names in the same folder and synced before the old set is touched; then the old
report is set aside, the files are renamed, and the report follows. What goes wrong before the end is undone;
what a killed run left is undone by the next one. Only a run's own earlier files are replaced (`claims`).
Against power loss this is as good as the disk's own flush.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import OutputError
from .claims import Claim, given_file, given_folder, same_origin
from .held import locked, made, plain_errors, sync_folder
from .setreading import REPORT_SUFFIX, SetState, file_digest, read_listed, read_report, read_set
from .stems import printable, safe_stem

__all__ = ["Claim", "SetState", "given_file", "given_folder", "read_set", "safe_stem", "write_file"]
__all__ += ["write_set"]

Content: TypeAlias = bytes | Iterable[bytes]

_USUAL = Claim()
NEW, OLD = ".reliefsmith-new-", ".reliefsmith-old-"
"""Before the names of files not yet in place, and of files set aside until the new set stands."""


def write_set(
    folder: str | Path,
    files: Mapping[str, Content],
    report_name: str,
    report: Mapping[str, Any],
    claim: Claim = _USUAL,
) -> dict[str, Any]:
    """Write files and their report into a folder as one set.

    Parameters
    ----------
    folder : path
        Made if it is missing, also its parents.
    files : mapping of name to bytes, or to an iterable of bytes
        All of it is rendered before the folder is touched.
    report_name : str
    report : mapping
        JSON values; its "files" are filled in. By its "picture" or "kind" the next run knows its own files.
    claim : Claim
        What may be replaced beside them.

    Returns
    -------
    dict
        The report as written.

    Raises
    ------
    TakenError
        If an input, or a file that no report of the same picture lists, would be replaced.
    OutputError
        If the folder cannot be written or another run is writing there. In both cases no new file is left.
    """
    folder = given_folder(folder)
    content = {name: data if isinstance(data, bytes) else b"".join(data) for name, data in files.items()}
    _require_names_apart([*content, report_name])
    hashes = {name: hashlib.sha256(content[name]).hexdigest() for name in sorted(content)}
    written = {**report, "files": hashes}
    text = (json.dumps(written, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    if folder.is_file():
        raise OutputError(f"{printable(folder)} is a file; give a folder for the set")
    with plain_errors(folder), made(folder), locked(folder):
        _recover(folder)
        claim.require_set(folder, {**content, report_name: text}, report)
        _replace_set(folder, content, report_name, text, _stale(folder / report_name, report, claim))
    return written


def write_file(path: Path, data: bytes, claim: Claim = _USUAL) -> None:
    """Write one file whole or not at all.

    Raises
    ------
    TakenError
        If there is another file of that name, which the claim does not give up.
    OutputError
        If it cannot be written; then an older file of that name is as it was.
    """
    with plain_errors(path):
        if not path.parent.is_dir():
            raise OutputError(f"cannot write {printable(path)}: its folder does not exist; make it first")
        claim.require_file(path, data)
        moves = _Moves(path.parent)
        try:
            (path.parent / f"{NEW}{path.name}").unlink(missing_ok=True)  # left by a killed run
            moves.write(path.name, data)
            moves.put(path.name)
            sync_folder(path.parent)
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


def _stale(report_file: Path, report: Mapping[str, Any], claim: Claim) -> list[str]:
    """Return what the old report of this run's name lists; without an own one, nothing is to be cleared."""
    old = read_report(report_file)
    if not (claim.replace or same_origin(old, report)):
        return []
    return [name for name in sorted(read_listed(old) or ()) if not claim.is_input(report_file.parent / name)]


def _replace_set(
    folder: Path, content: Mapping[str, bytes], report_name: str, report: bytes, old_files: Iterable[str]
) -> None:
    stale = [name for name in old_files if name not in content]
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
        sync_folder(folder)
        moves.put(report_name)
        sync_folder(folder)
    except BaseException:
        moves.undo()
        raise
    moves.clear()


def _recover(folder: Path) -> None:
    """Undo what a killed run left: unless its report stands, its moves are taken back; leftovers go."""
    names = sorted(os.listdir(folder))  # noqa: PTH208 - names are wanted, not paths
    _clear_unfinished(folder, names)
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


def _clear_unfinished(folder: Path, names: Sequence[str]) -> None:
    """Delete the files that a killed run had put in place before its report, which says what they are."""
    for name in names:
        if not (name.startswith(NEW) and name.endswith(REPORT_SUFFIX)):
            continue
        for listed, digest in (read_listed(read_report(folder / name)) or {}).items():
            if f"{NEW}{listed}" not in names and file_digest(folder / listed) == digest:
                (folder / listed).unlink()


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
