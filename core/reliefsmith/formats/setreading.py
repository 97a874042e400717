"""Read a folder of files as a set: only what the report vouches for by its hashes is one."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import OutputError
from ..findings import Severity
from .stems import printable

__all__ = [
    "REPORT_SUFFIX",
    "SetState",
    "file_digest",
    "is_printable",
    "read_listed",
    "read_report",
    "read_set",
]

REPORT_SUFFIX = "-report.json"
MAX_REPORT_BYTES = 64 * 2**20
"""A report with a million findings; anything longer was not written here."""
CHUNK_BYTES = 2**20
_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class SetState:
    """What a folder holds.

    Parameters
    ----------
    report_name : str
        Empty if there is no report, or more than one.
    report : mapping
        Empty if it cannot be read.
    problems : tuple of str
        Why the folder is no set, one line each.
    """

    report_name: str
    report: Mapping[str, Any]
    problems: tuple[str, ...]

    @property
    def is_set(self) -> bool:
        """Whether every file that the report lists is there as it was written."""
        return not self.problems


def is_printable(report: Mapping[str, Any]) -> bool:
    """Return whether no finding of a report says not to print."""
    return all(found.get("severity") != Severity.STOP for found in report.get("findings", ()))


def read_set(folder: Path | str, report_name: str | None = None) -> SetState:
    """Verify the files of a folder against its report.

    Parameters
    ----------
    folder : Path
    report_name : str, optional
        Needed only if the folder holds several reports.

    Raises
    ------
    OutputError
        If the folder cannot be read.
    """
    folder = Path(folder)
    try:
        names = sorted(path.name for path in folder.iterdir())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise OutputError(
            f"cannot read {printable(folder)}: {str(reason).lower()}; check the name"
        ) from error
    reports = [name for name in names if name.endswith(REPORT_SUFFIX) and not name.startswith(".")]
    wanted = [report_name] if report_name is not None else reports
    if len(wanted) != 1 or wanted[0] not in names:
        return SetState("", {}, ("there is no report" if not reports else "there is more than one report",))
    report = read_report(folder / wanted[0])
    listed = read_listed(report)
    if listed is None:
        return SetState(wanted[0], {}, (f"{printable(wanted[0])} is no report",))
    problems = [_problem(folder, name, digest) for name, digest in sorted(listed.items())]
    return SetState(wanted[0], report, tuple(line for line in problems if line))


def read_report(path: Path) -> Mapping[str, Any]:
    """Return a report, or an empty mapping if it is missing, broken or too long."""
    try:
        if not path.is_file() or path.stat().st_size > MAX_REPORT_BYTES:
            return {}
        value = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    return value if isinstance(value, dict) else {}


def read_listed(report: Mapping[str, Any]) -> dict[str, str] | None:
    """Return the files that a report lists with their SHA-256; None if it is none or names other folders."""
    files = report.get("files")
    if not isinstance(files, dict):
        return None
    plain = all(
        isinstance(digest, str)
        and _HASH.fullmatch(digest)
        and name not in ("", ".", "..")
        and not any(char in name for char in "/\\:\0")
        for name, digest in files.items()
    )
    return dict(files) if plain else None


def file_digest(path: Path) -> str:
    """Return the SHA-256 of a file's bytes; an empty string if it is missing or cannot be read."""
    try:
        return _digest(path) if path.is_file() else ""
    except OSError:
        return ""


def _digest(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as stream:
        while chunk := stream.read(CHUNK_BYTES):
            found.update(chunk)
    return found.hexdigest()


def _problem(folder: Path, name: str, digest: str) -> str:
    path = folder / name
    try:
        if not path.is_file():
            return f"{printable(name)} is missing"
        found = _digest(path)
    except OSError as error:
        return f"{printable(name)} cannot be read: {str(error.strerror).lower()}"
    return "" if found == digest else f"{printable(name)} was changed after it was written"
