"""The commands for many: sheets of a class, photographs of them as rows, rows made and forgotten."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from ..findings import count_words
from ..statuses import DONE, INTERRUPTED, ROWS_FAILED
from .options import Asked, Makers, Replace, Shown, named, path, plain, whole, written
from .streams import print_json

__all__ = ["batch", "class_sheets", "collect", "forget"]


def class_sheets(
    names: Annotated[Path, plain("LIST.csv|N", "Names, one a row under the word name; or how many.")],
    *,
    output: Annotated[str, written("Folder of the sheets.")],
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Write sheets to draw on, a page for each child, to be printed on A4 or letter paper."""
    from ..batch.classlist import read_list
    from ..classes.sheetset import write_sheets
    from ..formats.claims import Claim
    from .console import Screen

    listed = read_list(str(names))
    inputs = (names,) if names.is_file() else ()
    report = write_sheets([(one.number, one.name) for one in listed], output, Claim(inputs, replace))
    if shown.as_json:
        print_json(report, f"the sheets were written to {output}")
    Screen(quiet=shown.quiet).say(f"{count_words(len(listed), 'sheet')} written to {output}; print at 100 %")
    return DONE


def collect(
    photographs: Annotated[Path, plain("FOLDER", "Photographs of the sheets.")],
    *,
    output: Annotated[str, written("Folder of drawings and table.")],
    names: Annotated[
        Path | None, named("--list", about="The list of the class.", value="LIST.csv|N", read=path)
    ] = None,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Read photographs of sheets: each drawing straight and evenly lit, and a table of them for `batch`."""
    from ..batch.classlist import read_list
    from ..batch.rows import numbered
    from ..classes.photographs import UNREAD
    from ..classes.photographs import collect as collect_sheets
    from .console import Screen

    said = None if names is None else {one.number: one.cells for one in read_list(str(names))}
    screen = Screen(quiet=shown.quiet)
    found = collect_sheets(photographs, said, output, replace=replace, rows_shown=screen.rows)
    report = found.report
    if shown.as_json:
        print_json(report, f"the drawings were written to {output}")
    for one in found.unread:
        sys.stderr.write(f"photograph {one.number}: {one.why}\n")
    if report["missing"]:
        some = "sheets" if len(report["missing"]) > 1 else "sheet"
        screen.say(f"no photograph shows {some} {numbered(report['missing'])}")
    left = count_words(len(found.unread), "photograph")
    more = f", {left} not used, see {UNREAD}" if found.unread else ""
    screen.say(f"{count_words(len(report['rows']), 'sheet')} read{more}; written to {output}")
    return ROWS_FAILED if found.unread else DONE


def batch(
    table: Annotated[Path, plain("TABLE.csv|FOLDER", "A row for each piece, or a picture for each.")],
    *,
    output: Annotated[str, written("Folder of the sets and the ledger.")],
    makers: Makers,
    rows: Annotated[str | None, named("--rows", about="Only these rows, such as 3,7-9.", value="N")] = None,
    proofs: Annotated[bool, named("--proofs", about="Draw proof and sheet of each row too.")] = False,
    palette: Annotated[
        int | None,
        named("--palette", about="Filaments that all rows share, the base's too.", value="N", read=whole),
    ] = None,
    names: Annotated[bool, named("--names", about="Let errors quote what rows say.")] = False,
    asked: Asked,
    shown: Shown,
) -> int:
    """Make a set for each row of a table; what is done already is kept, so a stopped run goes on."""
    from ..batch.engine import hired
    from ..batch.rows import row_recipes
    from ..batch.rowwork import Limits
    from ..batch.run import run_batch
    from .console import Screen

    screen = Screen(quiet=shown.quiet)
    ended = run_batch(
        table,
        output,
        row_recipes(asked.recipe, asked.preset, asked.sets),
        hands=hired(makers.jobs, makers.scheduler),
        drawn=proofs,
        limits=Limits(makers.row_seconds, makers.row_gib),
        only=rows,
        rows_shown=screen.rows,
        palette=palette,
        named=names,
    )
    if shown.as_json:
        print_json(ended.report(), f"the batch was written to {output}")
    for line in ended.failures():
        sys.stderr.write(line + "\n")
    if ended.shared is not None:
        screen.say(f"all rows: base {ended.shared.base}, then {' '.join(ended.shared.steps)}")
    screen.say(ended.summary(output))
    return INTERRUPTED if ended.interrupted else ended.status


def forget(
    row: Annotated[int, typer.Argument(metavar="ROW", help="Its number.", parser=whole, show_default=False)],
    folders: Annotated[list[Path], plain("DIR...", "Folders of class, batch, beds, pages, quotes.")],
    *,
    shown: Shown,
) -> int:
    """Remove a row for good: its drawing and set, and the beds, pages, quotes and sheets that show it."""
    from ..batch.forget import forget as forget_row
    from .console import Screen

    done = forget_row(row, folders)
    if shown.as_json:
        print_json({"schema": 1, "row": row, "done": done})
    screen = Screen(quiet=shown.quiet)
    for words in done:
        screen.say(words)
    screen.say("photographs, lists and tables of your own, and copies elsewhere, are yours to delete")
    return DONE
