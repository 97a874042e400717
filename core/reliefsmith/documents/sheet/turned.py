"""What the sheet says of pieces that are not printed as they are seen: face down, in turn, in two plates."""

from __future__ import annotations

from collections.abc import Sequence

from ...model import Result
from ..html import Markup, Piece, el, join, listing
from ..legend import LegendEntry
from ..wording import mm

__all__ = ["jobs_block", "joining_items", "lying_rows", "plate_entries", "prints_words"]


def plate_entries(
    result: Result, entries: Sequence[LegendEntry]
) -> tuple[tuple[LegendEntry, ...], tuple[LegendEntry, ...]]:
    """Return the parts of the front plate and of the back plate; the latter are none in a piece of one."""
    if result.stack.back_at_mm is None:
        return tuple(entries), ()
    back = result.stack.jobs[-1]
    front = tuple(entry for entry in entries if entry.name not in back)
    return front, tuple(entry for entry in entries if entry.name in back)


def lying_rows(result: Result) -> list[tuple[Piece, ...]]:
    """Write the rows of the settings that say how the piece lies, and what its first layer already takes."""
    rows: list[tuple[Piece, ...]] = []
    heights = result.recipe.heights
    if heights.face == "down":
        which = "Front plate" if result.stack.back_at_mm is not None else "Front"
        rows.append(
            (
                which,
                "down on the bed; the files are mirrored for it",
                "It becomes as smooth as the bed: a clean, even bed. Do not turn or mirror it.",
            )
        )
    if heights.foot_mm:
        rows.append(
            (
                "Spread of the first layer",
                f"set to 0: the files are drawn in by {mm(heights.foot_mm, 2)} mm already",
                "Taken back twice, holes and gaps would come too wide.",
            )
        )
    return rows


def prints_words(result: Result) -> str:
    """Write in how many prints the piece is made; empty for one."""
    jobs = result.stack.jobs
    if not jobs:
        return ""
    return f"{len(jobs)}, " + (
        "a front and a back plate"
        if result.stack.back_at_mm is not None
        else "one after another onto the same bed"
    )


def jobs_block(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write the prints of one nozzle, each color onto the same bed, in their order and in plain words."""
    by_name = {entry.name: entry for entry in entries}
    printer, estimate = result.recipe.printer, result.inspection.estimate
    jobs = [[by_name[name] for name in names if name in by_name] for names in result.stack.jobs]
    intro = (
        f"{len(jobs)} prints onto the same bed, one for each color. The motifs are one layer high; the last"
        " print lays the base round them and over them, and holds them. Nothing is taken off the bed before"
        f" the end. Someone is at the printer for about {mm(estimate.attended_min, 0)} minutes in all,"
        f" {mm(printer.change_attended_min, 0)} at each change of filament."
    )
    steps = [_job(job, number, len(jobs)) for number, job in enumerate(jobs, start=1)]
    keep = (
        f"All prints need the same place on the bed: load every part together from {result.stem}.3mf, leave"
        " them where they are, and switch off the ones that are not printed now. A program that centers what"
        " it prints must be kept from it, else colors lie beside their places."
    )
    return el(
        "div",
        el("h3", "With one filament, print after print"),
        el("p", intro),
        el("p", keep),
        listing(steps, ordered=True, cls="changes"),
        cls="block",
    )


def _job(job: Sequence[LegendEntry], number: int, count: int) -> Piece:
    """Write one print: which parts, which filament, what then."""
    names = ", ".join(entry.name for entry in job)
    steps = [f"Load {job[0].filament}; switch on only {names}.", f"Print {_layers(job)}."]
    if number == 1:
        steps.append("No skirt, brim or mat; the next prints need the bed round it.")
    if number < count:
        steps.append("Leave it on the bed and keep the bed warm. Wipe the nozzle.")
    else:
        steps.append("Watch its first layer: it must pass over the motifs without touching them.")
    return join(el("p", el("strong", f"Print {number}: {names}.")), listing(steps))


def _layers(job: Sequence[LegendEntry]) -> str:
    first = min(entry.layers[0] for entry in job)
    last = max(entry.layers[1] for entry in job)
    return f"layer {first}" if first == last else f"layers {first} to {last}"


def joining_items(result: Result) -> list[str]:
    """Write how two plates are set together; nothing for a piece of one plate."""
    if result.stack.back_at_mm is None:
        return []
    pegs = not any(item.code == "pegs-missing" for item in result.findings)
    how = "The pegs of the front plate go into the holes" if pegs else "The floors go into their recesses"
    return [
        "Lay the front plate on its face, and the back plate on it with the floors inward, the hanging hole"
        " over the other one.",
        f"{how}. Try it dry; where it binds, cut the edge with a knife.",
        "A few drops of glue between the plates, away from the windows, and a weight on them for the night.",
    ]
