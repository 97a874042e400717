"""Whether the files on disk are those that were approved: of a set, and of all sets of a batch together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..documents.report import finding_mapping
from ..errors import OutputError, ReliefsmithError
from ..findings import Finding, finding
from ..formats.setreading import file_digest, read_listed, read_report
from ..formats.stems import printable
from ..model import Approval
from ..recipe import Recipe
from ..walk.approval import approval_of, approval_of_sets, read_code
from .finished import set_reports, stem_of

__all__ = ["Signed", "all_of", "signed_mapping", "signed_sets", "told"]


@dataclass(frozen=True, slots=True)
class Signed:
    """A set with its approval.

    Parameters
    ----------
    name : str
    folder : Path
    now : Approval or None
        Of the files as they are; None where one is missing or the recipe cannot be read.
    drawn : str
        Digest on its proof, as the report has it; empty where there is none.
    changed : tuple of str
        Files that are not as the report lists them.
    """

    name: str
    folder: Path
    now: Approval | None
    drawn: str
    changed: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether the files are those of its proof."""
        return self.now is not None and self.now.digest == self.drawn


def signed_sets(folders: Sequence[Path]) -> tuple[Signed, ...]:
    """Take the digests of the sets in folders anew.

    Raises
    ------
    OutputError
        If a folder holds no set.
    """
    return tuple(_signed(name, path) for name, path in set_reports(folders))


def told(sets: Sequence[Signed], code: str | None) -> tuple[list[Finding], list[str]]:
    """Return findings on sets that are not those approved, and lines on those that are.

    Parameters
    ----------
    sets : sequence of Signed
    code : str or None
        As it was read off a proof, or off the page of all proofs; None asks each set for its own.

    Raises
    ------
    RecipeError
        If the code was misread.
    """
    if code is None:
        bad = [one for one in sets if not one.holds]
        return [finding("not-approved", _why(one)) for one in bad], [_own(one) for one in sets if one.holds]
    wanted = read_code(code)
    same = [one for one in sets if one.now is not None and one.now.code == wanted]
    if same:
        return [], [f"the files in {printable(one.folder)} are those of code {wanted}" for one in same]
    whole = all_of(sets)
    if whole is not None and whole.code == wanted:
        which = "the one set" if len(sets) == 1 else f"all {len(sets)} sets"
        return [], [f"the files of {which} are those of code {wanted}"]
    now = sets[0].now if len(sets) == 1 else whole
    tail = f", their code is {now.code}" if now is not None else ""
    reasons = "".join(f" {_changes(one)}" for one in sets if one.changed)[:200]
    return [finding("not-approved", f"These are not the files of code {wanted}{tail}.{reasons}")], []


def signed_mapping(sets: Sequence[Signed], findings: Sequence[Finding]) -> dict[str, Any]:
    """Return each set's code as its files are, and whether they are those of its proof."""
    rows = [
        {"name": one.name, "code": None if one.now is None else one.now.code, "approved": one.holds}
        for one in sets
    ]
    return {"schema": 1, "sets": rows, "findings": [finding_mapping(item) for item in findings]}


def all_of(sets: Sequence[Signed]) -> Approval | None:
    """Return the approval of all sets together; None where one has none."""
    digests = {one.name: one.now.digest for one in sets if one.now is not None}
    return approval_of_sets(digests) if len(digests) == len(sets) else None


def _own(one: Signed) -> str:
    assert one.now is not None
    return f"the files in {printable(one.folder)} are those of code {one.now.code}"


def _why(one: Signed) -> str:
    if not one.drawn:
        return f"The report in {printable(one.folder)} has no code of approval: make the set again."
    return f"The files in {printable(one.folder)} are not those of its proof. {_changes(one)}".rstrip()


def _changes(one: Signed) -> str:
    return f"Changed since: {', '.join(map(printable, one.changed[:3]))}." if one.changed else ""


def _signed(name: str, path: Path) -> Signed:
    folder, stem, report = path.parent, stem_of(path), read_report(path)
    listed = read_listed(report)
    if listed is None:
        raise OutputError(f"{printable(path)} is no report; make the set again")
    files = {file: file_digest(folder / file) for file in listed}
    changed = tuple(file for file, digest in sorted(files.items()) if digest != listed[file])
    try:
        now = approval_of(stem, files, Recipe.load(folder / f"{stem}-recipe.toml"))
    except ReliefsmithError:
        now = None
    approval: Any = report.get("approval")
    drawn = approval.get("digest") if isinstance(approval, dict) else ""
    return Signed(name, folder, now, drawn if isinstance(drawn, str) else "", changed)
