"""The commands. They take what a line says, call the pipeline and show what came of it; no geometry here."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace as with_fields
from pathlib import Path
from typing import Annotated, Any

from .asked import asked_recipe
from .batch.commands import beds, contact, quote
from .colornames import colors_told
from .errors import RecipeError
from .given import hand_files
from .options import (
    ArtworkPath,
    Colors,
    Height,
    Json,
    Preset,
    Quiet,
    RecipePath,
    Replace,
    Sets,
    Stages,
    Verbose,
    Width,
)
from .recipe import Recipe
from .told import print_json
from .words import Option, Positional

__all__ = ["COMMANDS", "INTERRUPTED"]

INTERRUPTED = 130
"""Exit status of what an interrupt ended, as shells have it."""
KEPT_PLAN = ".npz"


def make(
    artwork: ArtworkPath,
    *,
    output: Annotated[str | None, Option(("-o", "--output"), "Folder of the set.", "DIR")] = None,
    recipe: RecipePath = None,
    preset: Preset = None,
    width: Width = None,
    height: Height = None,
    colors: Colors = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    keep_stages: Stages = None,
    replace: Replace = False,
) -> int:
    """Make the printable set of a picture or of a kept plan: 3MF, STL, SVG, GLB, proof, sheet, report."""
    with colors_told(artwork):
        settings = asked_recipe(recipe, preset, width=width, height=height, colors=colors, sets=sets)
    kept = artwork.suffix.lower() == KEPT_PLAN
    if kept and not (width is height is colors is None):
        raise RecipeError(f"{artwork} is a kept plan, whose size and colors stay; leave out these flags")
    from .console import Screen
    from .kept import remake_steps
    from .pipeline import Job
    from .progress import drain
    from .stages import STAGES

    screen = Screen(quiet=quiet, verbose=verbose)
    job = Job(artwork, _store(keep_stages))
    with screen.progress([*((stage.name, stage.label) for stage in STAGES), ("write", "writing")]) as take:
        relief = drain(remake_steps(artwork, settings), take) if kept else job.relief(settings, take)
        relief = with_fields(relief, inputs=_inputs(*relief.inputs, recipe))
        folder = output if output is not None else f"{relief.result.stem}-relief"
        report: Any = drain(relief.write_steps(folder, replace=replace), take)
    if as_json:
        print_json(report, f"the set was written to {folder}")
    screen.summary(relief.result, report["size_mm"], str(folder))
    return 0 if relief.printable else 1


def areas(
    artwork: ArtworkPath,
    *,
    output: Annotated[str, Option(("-o", "--output"), "File to write.", "FILE.svg|FILE.geojson")],
    recipe: RecipePath = None,
    preset: Preset = None,
    width: Width = None,
    height: Height = None,
    colors: Colors = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    keep_stages: Stages = None,
    replace: Replace = False,
) -> int:
    """Find only the flat-color areas, in mm: for vinyl, laser, embroidery."""
    with colors_told(artwork):
        settings = asked_recipe(recipe, preset, width=width, height=height, colors=colors, sets=sets)
    from .console import Screen
    from .formats.folder import Claim, given_file, write_file
    from .output import area_writer, areas_report
    from .pipeline import find_areas
    from .stages import STAGES, after

    target = given_file(output)
    writer = area_writer(target, settings.areas.curves)
    screen = Screen(quiet=quiet, verbose=verbose)
    shown = [(stage.name, stage.label) for stage in STAGES if stage.name in after("marked")]
    with screen.progress(shown) as take:
        found = find_areas(artwork, settings, store=_store(keep_stages), on_progress=take)
    write_file(target, writer(found), Claim(_inputs(artwork, recipe), replace))
    if as_json:
        print_json(areas_report(found), f"the areas were written to {target}")
    screen.findings(found.findings)
    width_mm, height_mm = found.size_mm
    screen.say(f"{len(found.art)} colors, {width_mm:.2f} x {height_mm:.2f} mm, written to {target}")
    return 0


def ways(
    artwork: ArtworkPath,
    *,
    output: Annotated[str | None, Option(("-o", "--output"), "File to write.", "FILE.html|FILE.toml")] = None,
    pick: Annotated[int | None, Option(("--pick",), "Write the recipe of this way instead.", "N")] = None,
    recipe: RecipePath = None,
    preset: Preset = None,
    width: Width = None,
    height: Height = None,
    colors: Colors = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    keep_stages: Stages = None,
    replace: Replace = False,
) -> int:
    """Show up to six ways to make it on one page, or write the recipe of the one that is picked."""
    with colors_told(artwork):
        settings = asked_recipe(recipe, preset, width=width, height=height, colors=colors, sets=sets)
    from .console import Screen
    from .documents.ways_page import ways_html, ways_mapping
    from .formats.folder import Claim, write_file
    from .pipeline import Job
    from .progress import drain
    from .stages import STAGES
    from .ways import picked, way_file, ways_steps

    target = way_file(output, artwork, pick)
    screen = Screen(quiet=quiet, verbose=verbose)
    with screen.progress([(stage.name, stage.label) for stage in STAGES]) as take:
        found = drain(ways_steps(Job(artwork, _store(keep_stages)), settings), take)
    chosen = found if pick is None else [picked(found, pick)]
    content = ways_html(found) if pick is None else chosen[0].recipe_toml().encode()
    write_file(target, content, Claim(_inputs(artwork, recipe, *hand_files(settings)), replace))
    if as_json:
        print_json(ways_mapping(found), f"the ways were written to {target}")
    said = f"{len(found)} ways to make it" if pick is None else f"the recipe of way {pick}"
    screen.say(f"{said}, written to {target}")
    return 0 if any(way.printable for way in chosen) else 1


def check(
    files: Annotated[list[Path], Positional("FILE.3mf|FILE.stl|FILE.obj...|DIR")],
    *,
    approved: Annotated[
        str | None, Option(("--approved",), "Are the files in DIR those of this code of a proof?", "CODE")
    ] = None,
    repair: Annotated[
        str | None, Option(("--repair",), "Repair what is safe and write the parts here.", "DIR")
    ] = None,
    recipe: RecipePath = None,
    preset: Preset = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    replace: Replace = False,
) -> int:
    """Check parts (3MF, STL, OBJ, PLY, GLB, OFF), also after hand work, or a set against its proof."""
    if approved is not None or any(file.is_dir() for file in files):
        from .batch.commands import check_approved

        return check_approved(files, approved, as_json=as_json, quiet=quiet)
    settings = asked_recipe(recipe, preset, sets=sets)
    from .checking import check_files, check_parts, read_files
    from .console import Screen
    from .output import write_parts

    screen = Screen(quiet=quiet)
    if repair is None:
        found = check_files(files, settings)
    else:
        parts, said = read_files(files, repair=True)
        found = (*said, *check_parts(parts, settings))
        write_parts(parts, repair, stem=files[0].stem, recipe=settings, found=found, replace=replace)
    if as_json:
        from .documents.report import finding_mapping

        print_json({"schema": 1, "findings": [finding_mapping(item) for item in found]})
    screen.findings(found)
    stop = any(item.severity == "stop" for item in found)
    screen.say("do not print this" if stop else "nothing found that stops the print")
    return 1 if stop else 0


def coupon(
    *,
    output: Annotated[str, Option(("-o", "--output"), "Folder of the test piece.", "DIR")],
    recipe: RecipePath = None,
    preset: Preset = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
    replace: Replace = False,
) -> int:
    """Make a test piece for this printer and these filaments, with a sheet to read it by."""
    settings = asked_recipe(recipe, preset, sets=sets)
    from .console import Screen
    from .formats.folder import Claim
    from .testpiece import write_coupon

    screen = Screen(quiet=quiet)
    report = write_coupon(output, settings, Claim(_inputs(recipe), replace))
    if as_json:
        print_json(report, f"the test piece was written to {output}")
    screen.say(
        f"test piece of {len(report['parts'])} parts written to {output}; its sheet says how to read it"
    )
    return 0


def batch(
    table: Annotated[Path, Positional("TABLE.csv|FOLDER", "A row for each piece, or a picture for each.")],
    *,
    output: Annotated[str, Option(("-o", "--output"), "Folder of the sets and the ledger.", "DIR")],
    jobs: Annotated[int | None, Option(("--jobs",), "Processes; as many as cores by default.", "N")] = None,
    proofs: Annotated[bool, Option(("--proofs",), "Draw proof and sheet of each row too.")] = False,
    recipe: RecipePath = None,
    preset: Preset = None,
    sets: Sets = None,
    as_json: Json = False,
    quiet: Quiet = False,
) -> int:
    """Make a set for each row of a table; what is done already is kept, so a stopped run goes on."""
    from .batch.run import run_batch
    from .console import Screen

    def row_recipe(own: Path | None, named: str | None, values: Mapping[str, Any]) -> Recipe:
        given = asked_recipe(own or recipe, named or preset, sets=sets)
        return given.with_values(values) if values else given

    screen = Screen(quiet=quiet)
    ended = run_batch(table, output, row_recipe, jobs=jobs, drawn=proofs, rows_shown=screen.rows)
    if as_json:
        print_json(ended.report(), f"the batch was written to {output}")
    for line in ended.failures():
        sys.stderr.write(line + "\n")
    screen.say(ended.summary(output))
    return INTERRUPTED if ended.interrupted else ended.status


def show_recipe(preset: Preset = None) -> int:
    """Print every setting with unit and help, as TOML."""
    sys.stdout.write(asked_recipe(None, preset).to_toml(with_help=True))
    return 0


COMMANDS: dict[str, Callable[..., int]] = {
    "make": make,
    "areas": areas,
    "ways": ways,
    "check": check,
    "batch": batch,
    "beds": beds,
    "quote": quote,
    "contact": contact,
    "coupon": coupon,
    "recipe": show_recipe,
}
"""Every command, in the order of the help."""


def _inputs(*files: Path | None) -> tuple[Path, ...]:
    return tuple(file for file in files if file is not None)


def _store(folder: Path | None) -> Any:
    if folder is None:
        return None
    from .store import FolderStore

    return FolderStore(folder)
