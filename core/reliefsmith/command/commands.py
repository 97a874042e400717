"""The commands. They take what a line says, call the pipeline and show what came of it; no geometry here."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import replace as with_fields
from pathlib import Path
from typing import Annotated, Any

from ..errors import OutputError, RecipeError
from ..findings import count_words
from ..statuses import DONE, STOPPED
from ..walk.inputs import named_files
from .options import (
    ArtworkPath,
    Asked,
    AskedArt,
    Replace,
    Shown,
    Staged,
    named,
    plain,
    whole,
    written,
)
from .ordercommands import beds, check_approved, contact, quote
from .recipecommands import show_presets, show_recipe
from .rowcommands import batch, class_sheets, collect, forget
from .streams import print_json

__all__ = ["COMMANDS"]

KEPT_PLAN = ".npz"


def make(
    artwork: ArtworkPath,
    *,
    output: Annotated[str | None, written("Folder of the set.")] = None,
    asked: AskedArt,
    shown: Staged,
    replace: Replace = False,
) -> int:
    """Make the printable set of a picture or of a kept plan: 3MF, STL, SVG, GLB, proof, sheet, report."""
    settings = asked.settings_for(artwork)
    kept = artwork.suffix.lower() == KEPT_PLAN
    if kept and not (asked.width is asked.height is asked.colors is None):
        raise RecipeError(f"{artwork} is a kept plan, whose size and colors stay; leave out these flags")
    from ..progress import drain
    from ..walk.kept import remake_steps
    from ..walk.pipeline import Job
    from ..walk.stages import STAGES
    from .console import Screen

    screen = Screen(quiet=shown.quiet, verbose=shown.verbose)
    job = Job(artwork, shown.store())
    with screen.progress([*((stage.name, stage.label) for stage in STAGES), ("write", "writing")]) as take:
        relief = drain(remake_steps(artwork, settings), take) if kept else job.relief(settings, take)
        relief = with_fields(relief, inputs=_inputs(*relief.inputs, asked.recipe))
        folder = output if output is not None else f"{relief.result.stem}-relief"
        report: Any = drain(relief.write_steps(folder, replace=replace), take)
    if shown.as_json:
        print_json(report, f"the set was written to {folder}")
    screen.summary(relief.result, report["size_mm"], str(folder))
    return DONE if relief.printable else STOPPED


def areas(
    artwork: ArtworkPath,
    *,
    output: Annotated[str, written("File to write.", "FILE.svg|FILE.geojson")],
    asked: AskedArt,
    shown: Staged,
    replace: Replace = False,
) -> int:
    """Find only the flat-color areas, in mm: for vinyl, laser, embroidery."""
    settings = asked.settings_for(artwork)
    from ..formats.setwriting import Claim, given_file, write_file
    from ..walk.areafile import area_writer, areas_report
    from ..walk.pipeline import find_areas
    from ..walk.stages import STAGES, after
    from .console import Screen

    target = given_file(output)
    writer = area_writer(target, settings.areas.curves)
    screen = Screen(quiet=shown.quiet, verbose=shown.verbose)
    stages = [(stage.name, stage.label) for stage in STAGES if stage.name in after("marked")]
    with screen.progress(stages) as take:
        found = find_areas(artwork, settings, store=shown.store(), on_progress=take)
    write_file(target, writer(found), Claim(_inputs(artwork, asked.recipe), replace))
    if shown.as_json:
        print_json(areas_report(found), f"the areas were written to {target}")
    screen.findings(found.findings)
    width_mm, height_mm = found.size_mm
    screen.say(
        f"{count_words(len(found.art), 'color')}, {width_mm:.2f} x {height_mm:.2f} mm, written to {target}"
    )
    return DONE


def ways(
    artwork: ArtworkPath,
    *,
    output: Annotated[str | None, written("File to write.", "FILE.html|FILE.toml")] = None,
    pick: Annotated[
        int | None, named("--pick", about="Write the recipe of this way instead.", value="N", read=whole)
    ] = None,
    asked: AskedArt,
    shown: Staged,
    replace: Replace = False,
) -> int:
    """Show up to six ways to make it on one page, or write the recipe of the one that is picked."""
    settings = asked.settings_for(artwork)
    from ..documents.ways_page import ways_html, ways_mapping
    from ..formats.setwriting import Claim, write_file
    from ..jobs.ways import picked, way_file, ways_steps
    from ..progress import drain
    from ..walk.pipeline import Job
    from ..walk.stages import STAGES
    from .console import Screen

    target = way_file(output, artwork, pick)
    screen = Screen(quiet=shown.quiet, verbose=shown.verbose)
    with screen.progress([(stage.name, stage.label) for stage in STAGES]) as take:
        found = drain(ways_steps(Job(artwork, shown.store()), settings), take)
    chosen = found if pick is None else [picked(found, pick)]
    content = ways_html(found) if pick is None else chosen[0].recipe_toml().encode()
    write_file(target, content, Claim(_inputs(artwork, asked.recipe, *named_files(settings)), replace))
    if shown.as_json:
        print_json(ways_mapping(found), f"the ways were written to {target}")
    said = f"{count_words(len(found), 'way')} to make it" if pick is None else f"the recipe of way {pick}"
    screen.say(f"{said}, written to {target}")
    return DONE if any(way.printable for way in chosen) else STOPPED


def _require_there(files: Sequence[Path]) -> None:
    """Refuse names that stand for nothing before anything is said of their kind."""
    for file in files:
        try:
            there = os.path.lexists(file)
        except ValueError:
            there = False
        if not there:
            from ..formats.stems import printable

            raise OutputError(f"there is no file or folder {printable(file)}; check the name")


def check(
    files: Annotated[list[Path], plain("FILE.3mf|FILE.stl|FILE.obj...|DIR")],
    *,
    approved: Annotated[
        str | None,
        named("--approved", about="Are the files in DIR those of this code?", value="CODE"),
    ] = None,
    repair: Annotated[
        str | None, named("--repair", about="Repair what is safe and write the parts here.", value="DIR")
    ] = None,
    asked: Asked,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Check parts (3MF, STL, OBJ, PLY, GLB, OFF), also after hand work, or a set against its proof."""
    _require_there(files)
    if approved is not None or any(file.is_dir() for file in files):
        return check_approved(files, approved, shown)
    settings = asked.settings()
    from ..jobs.checking import check_files, check_parts, read_files
    from ..walk.output import write_parts
    from .console import Screen

    screen = Screen(quiet=shown.quiet)
    if repair is None:
        found = check_files(files, settings)
    else:
        parts, said = read_files(files, repair=True)
        found = (*said, *check_parts(parts, settings))
        write_parts(parts, repair, stem=files[0].stem, recipe=settings, found=found, replace=replace)
    if shown.as_json:
        from ..documents.report import finding_mapping

        print_json({"schema": 1, "findings": [finding_mapping(item) for item in found]})
    screen.findings(found)
    stop = any(item.severity == "stop" for item in found)
    screen.say("do not print this" if stop else "nothing found that stops the print")
    return STOPPED if stop else DONE


def coupon(
    *,
    output: Annotated[str, written("Folder of the test piece.")],
    asked: Asked,
    shown: Shown,
    replace: Replace = False,
) -> int:
    """Make a test piece for this printer and these filaments, with a sheet to read it by."""
    settings = asked.settings()
    from ..formats.setwriting import Claim
    from ..jobs.testpiece import write_coupon
    from .console import Screen

    screen = Screen(quiet=shown.quiet)
    report = write_coupon(output, settings, Claim(_inputs(asked.recipe), replace))
    if shown.as_json:
        print_json(report, f"the test piece was written to {output}")
    parts = count_words(len(report["parts"]), "part")
    screen.say(f"test piece of {parts} written to {output}; its sheet says how to read it")
    return DONE


COMMANDS: dict[str, Callable[..., int]] = {
    "make": make,
    "areas": areas,
    "ways": ways,
    "check": check,
    "class": class_sheets,
    "collect": collect,
    "batch": batch,
    "beds": beds,
    "quote": quote,
    "contact": contact,
    "forget": forget,
    "coupon": coupon,
    "recipe": show_recipe,
    "presets": show_presets,
}
"""Every command, in the order of the help."""


def _inputs(*files: Path | None) -> tuple[Path, ...]:
    return tuple(file for file in files if file is not None)
