"""The commands for what is made of finished sets: beds, quotes, contact pages, and what was approved."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from ..errors import RecipeError
from ..findings import count_words
from ..formats.stems import printable
from ..statuses import DONE, STOPPED
from .options import Over, Replace, Shown, named, plain, written
from .streams import print_json

if TYPE_CHECKING:
    from .console import Screen

__all__ = ["beds", "check_approved", "contact", "quote"]

SetFolders = Annotated[list[Path], plain("DIR...", "Folders of sets, or of a batch.")]


def beds(
    folders: SetFolders,
    *,
    output: Annotated[str, written("Folder of the beds.")],
    again: Annotated[
        str | None,
        named("--again", about="Lay these failed rows onto the next bed, such as 3,7.", value="ROWS"),
    ] = None,
    over: Over,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Lay finished sets onto the beds of the printer: a 3MF and a map for each bed, and a page."""
    from ..orders.bedfiles import findings_of, write_beds
    from ..orders.finished import common_settings, found_sets
    from .console import Screen

    screen = Screen(quiet=shown.quiet)
    found = found_sets(folders, over.settings)
    report = write_beds(found, output, common_settings(found), asked=again, replace=replace)
    if shown.as_json:
        print_json(report, f"the beds were written to {output}")
    said = findings_of(report)
    screen.findings(said)
    pieces = sum(len(bed["pieces"]) for bed in report["beds"])
    changes = sum(bed["changes"] for bed in report["beds"])
    words = f"{count_words(pieces, 'piece')} on {count_words(len(report['beds']), 'bed')}"
    screen.say(f"{words}, {count_words(changes, 'color change')}, written to {output}")
    _tell_failed(screen, folders)
    return STOPPED if said else DONE


def quote(
    folders: SetFolders,
    *,
    output: Annotated[str, written("Folder of the quote.")],
    over: Over,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Quote finished sets as ordered, and at 1, 10, 30 and 100 pieces, by the shop's own numbers."""
    from ..orders.finished import common_settings, found_sets
    from ..orders.quotefiles import write_quote
    from .console import Screen

    found = found_sets(folders, over.settings)
    settings = common_settings(found, ("printer", "beds", "cost"))
    report, price = write_quote(found, output, settings, replace=replace)
    if shown.as_json:
        print_json(report, f"the quote was written to {output}")
    laid = f"{count_words(price.pieces, 'piece')} on {count_words(price.beds, 'bed')}"
    words = f"{laid}: {price.total:.2f} {settings.cost.currency}"
    screen = Screen(quiet=shown.quiet)
    screen.say(f"{words}, written to {output}")
    if settings.cost.hand_per_hour == settings.cost.machine_per_hour == 0:
        screen.say("no work is counted: set cost.hand_per_hour, cost.machine_per_hour to your own prices")
    _tell_failed(screen, folders)
    return DONE


def contact(
    folders: SetFolders,
    *,
    output: Annotated[str, written("Folder of the page.")],
    names: Annotated[bool, named("--names", about="Show for whom each piece is, and its spelling.")] = False,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Draw a small proof of each finished set on one page, to be signed for all at once."""
    from ..orders.contact import write_contact
    from ..orders.finished import found_sets
    from .console import Screen

    found = found_sets(folders)
    report = write_contact(found, output, named=names, replace=replace)
    if shown.as_json:
        print_json(report, f"the contact page was written to {output}")
    code = report["approval"]["code"]
    screen = Screen(quiet=shown.quiet)
    screen.say(f"{count_words(len(found), 'proof')}, code {code} for all, written to {output}")
    _tell_failed(screen, folders)
    return DONE


def _tell_failed(screen: Screen, folders: Sequence[Path]) -> None:
    """Say which rows of a batch are not in what was made of it as the table has them."""
    from ..batch.ledger import failed_rows
    from ..batch.rows import numbered

    for folder in folders:
        if rows := failed_rows(folder):
            which = f"row{'s' * (len(rows) > 1)} {numbered(rows)} of {printable(folder)} failed"
            screen.say(f"{which} when last made: what is here of it is missing or older; run the batch again")


def check_approved(files: Sequence[Path], code: str | None, shown: Shown) -> int:
    """Tell whether the sets in folders are those of a code, or of their own proofs."""
    from ..orders.signed import signed_mapping, signed_sets, told
    from .console import Screen

    if not all(file.is_dir() for file in files):
        raise RecipeError("a code is that of a set: give the set's folder, or that of a batch, and no files")
    found = signed_sets(files)
    bad, good = told(found, code)
    if shown.as_json:
        print_json(signed_mapping(found, bad))
    screen = Screen(quiet=shown.quiet)
    screen.findings(bad)
    for line in good:
        screen.say(line)
    return STOPPED if bad else DONE
