"""The commands for what is made of finished sets: beds, quotes, contact pages, and what was approved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace as with_fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from ..asked import assignment
from ..errors import RecipeError
from ..options import Json, Quiet, RecipePath, Replace, Sets
from ..recipe import Recipe, beside
from ..settings import specs
from ..told import print_json
from ..tomlfile import read_toml
from ..words import Option, Positional

if TYPE_CHECKING:
    from .finished import Finished

__all__ = ["beds", "check_approved", "contact", "quote"]

SetFolders = Annotated[list[Path], Positional("DIR...", "Folders of sets, or of a batch.")]


def beds(
    folders: SetFolders,
    *,
    output: Annotated[str, Option(("-o", "--output"), "Folder of the beds.", "DIR")],
    again: Annotated[
        str | None, Option(("--again",), "Lay these failed rows onto the next bed, such as 3,7.", "ROWS")
    ] = None,
    recipe: RecipePath = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    replace: Replace = False,
) -> int:
    """Lay finished sets onto the beds of the printer: a 3MF and a map for each bed, and a page."""
    from ..console import Screen
    from .finished import found_sets
    from .laying import findings_of, write_beds

    screen = Screen(quiet=quiet)
    found = [with_fields(one, recipe=over(one.recipe, recipe, sets)) for one in found_sets(folders)]
    settings = common_settings(found)
    report = write_beds(found, output, settings, asked=again, replace=replace)
    if as_json:
        print_json(report, f"the beds were written to {output}")
    said = findings_of(report)
    screen.findings(said)
    pieces = sum(len(bed["pieces"]) for bed in report["beds"])
    changes = sum(bed["changes"] for bed in report["beds"])
    screen.say(f"{pieces} pieces on {len(report['beds'])} beds, {changes} color changes, written to {output}")
    return 1 if said else 0


def quote(
    folders: SetFolders,
    *,
    output: Annotated[str, Option(("-o", "--output"), "Folder of the quote.", "DIR")],
    recipe: RecipePath = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    replace: Replace = False,
) -> int:
    """Quote finished sets as ordered, and at 1, 10, 30 and 100 pieces, by the shop's own numbers."""
    from ..console import Screen
    from .finished import found_sets
    from .quoting import write_quote

    found = [with_fields(one, recipe=over(one.recipe, recipe, sets)) for one in found_sets(folders)]
    settings = common_settings(found, ("printer", "beds", "cost"))
    report, price = write_quote(found, output, settings, replace=replace)
    if as_json:
        print_json(report, f"the quote was written to {output}")
    words = f"{price.pieces} pieces on {price.beds} beds: {price.total:.2f} {settings.cost.currency}"
    Screen(quiet=quiet).say(f"{words}, written to {output}")
    return 0


def contact(
    folders: SetFolders,
    *,
    output: Annotated[str, Option(("-o", "--output"), "Folder of the page.", "DIR")],
    names: Annotated[bool, Option(("--names",), "Show for whom each piece is, and its spelling.")] = False,
    as_json: Json = False,
    quiet: Quiet = False,
    replace: Replace = False,
) -> int:
    """Draw a small proof of each finished set on one page, to be signed for all at once."""
    from ..console import Screen
    from .contact import write_contact
    from .finished import found_sets

    found = found_sets(folders)
    report = write_contact(found, output, named=names, replace=replace)
    if as_json:
        print_json(report, f"the contact page was written to {output}")
    code = report["approval"]["code"]
    Screen(quiet=quiet).say(f"{len(found)} proofs, code {code} for all, written to {output}")
    return 0


def check_approved(files: Sequence[Path], code: str | None, *, as_json: bool, quiet: bool) -> int:
    """Tell whether the sets in folders are those of a code, or of their own proofs."""
    from ..console import Screen
    from ..documents.report import finding_mapping
    from .signed import signed_sets, told

    if not all(file.is_dir() for file in files):
        raise RecipeError("a code is that of a set: give the set's folder, or that of a batch, and no files")
    found = signed_sets(files)
    bad, good = told(found, code)
    if as_json:
        rows = [{"name": one.name, "code": one.now and one.now.code, "approved": one.holds} for one in found]
        print_json({"schema": 1, "sets": rows, "findings": [finding_mapping(item) for item in bad]})
    screen = Screen(quiet=quiet)
    screen.findings(bad)
    for line in good:
        screen.say(line)
    return 1 if bad else 0


def common_settings(found: Sequence[Finished], sections: Sequence[str] = ("printer", "beds")) -> Recipe:
    """Return the settings that all sets share.

    Raises
    ------
    RecipeError
        If sets differ in one of these sections, and the command does not say what holds.
    """
    for one in found:
        for section in sections:
            first, other = getattr(found[0].recipe, section), getattr(one.recipe, section)
            for key in specs(type(first)):
                if getattr(first, key) != getattr(other, key):
                    raise RecipeError(
                        f"{found[0].name} and {one.name} differ in {section}.{key}; say which holds with "
                        f"--set {section}.{key}=..., or take them in two runs"
                    )
    return found[0].recipe


def over(recipe: Recipe, path: Path | None, sets: Sequence[str] | None) -> Recipe:
    """Return a recipe with what a file and `--set` say of printer, beds, cost and order; the piece stays."""
    asked = recipe if path is None else recipe.merged(beside(read_toml(path), path))
    for text in sets or ():
        asked = asked.with_values(assignment(text))
    return with_fields(recipe, printer=asked.printer, beds=asked.beds, cost=asked.cost, order=asked.order)
