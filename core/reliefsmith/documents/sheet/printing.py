"""The printing half of the sheet: what the settings must be, when colors change, how parts are loaded."""

from __future__ import annotations

from collections.abc import Sequence

from ...model import Result
from ..html import Markup, Piece, el, join, listing, section, table
from ..legend import LegendEntry
from ..wording import height_words, layer_words, mm
from .pauses import changes_by_hand, changes_loaded
from .planview import swatch
from .turned import jobs_block, lying_rows, plate_entries

__all__ = ["color_section", "loading_section", "settings_section"]


def settings_section(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write the settings that the heights depend on, with the reason for each."""
    heights, nozzle = result.recipe.heights, result.recipe.printer.nozzle_mm
    first, layer, count = heights.first_layer_mm, heights.layer_mm, len(result.stack.layer_tops_mm)
    total = result.stack.layer_tops_mm[-1]
    rows: list[tuple[Piece, ...]] = [
        ("First layer", f"{mm(first, 2)} mm", "Every later height stands on it."),
        (
            "Layer height",
            f"{mm(layer, 2)} mm, the same from first to last",
            "Varied layers move every color change.",
        ),
        (
            "Layers",
            _count_words(result, entries) or f"{count}, {mm(total, 2)} mm in all",
            "Compare with what your program counts before you print.",
        ),
        (
            "Line width",
            f"{mm(nozzle, 2)} mm, as wide as the nozzle",
            "Wider lines swallow fine strokes.",
        ),
        ("Walls", "3 or more", "They carry most of the load."),
        ("Fill", "solid, 100 %", "So thin a piece gains little from hollow fill and loses strength."),
        *lying_rows(result),
        ("Size", "100 % in every direction", "Strokes, gaps and heights are planned for it."),
        (
            "Below the piece",
            "nothing, straight on the bed",
            "A printed mat under it would raise every height.",
        ),
        ("Nozzle", f"{mm(nozzle, 2)} mm", "Strokes and gaps were made printable for it."),
    ]
    intro = el(
        "p", "Heights lie on whole layers. Keep these settings and every color begins where it should."
    )
    return section(
        "settings",
        "Settings the heights depend on",
        intro,
        table(("Setting", "Value", "Why"), rows, caption="Print settings", quiet=True),
    )


def _count_words(result: Result, entries: Sequence[LegendEntry]) -> str:
    """Write the layers of each of two plates; empty for a piece of one."""
    plates = [plate for plate in plate_entries(result, entries) if plate]
    if len(plates) == 1:
        return ""
    words = [
        f"{name} plate {max(entry.layers[1] for entry in plate)}, {mm(max(e.z_mm[1] for e in plate), 2)} mm"
        for name, plate in zip(("front", "back"), plates, strict=True)
    ]
    return "; ".join(words)


def color_section(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write the colors and when they change, for hand changes and for several filaments."""
    rows: list[tuple[Piece, ...]] = [
        (
            join(swatch(entry), f" {entry.number} {entry.title}"),
            entry.hex,
            height_words(entry),
            layer_words(entry),
            f"{mm(result.inspection.estimate.mass_g[entry.name], 2)} g",
        )
        for entry in entries
    ]
    head: tuple[str, ...] = ("Color", "On screen", "Heights", "Layers", "Filament")
    if result.matching.asked:
        head = (*head, "Load")
        rows = [(*row, _spool(result, entry.name)) for row, entry in zip(rows, entries, strict=True)]
    colors = table(head, rows, caption="Colors in the order of printing", quiet=True)
    if result.stack.jobs and result.stack.back_at_mm is None:
        return section("colors", "Color plan", colors, jobs_block(result, entries))
    by_hand, together = changes_by_hand(result, entries), changes_loaded(result, entries)
    blocks = [by_hand, together] if result.recipe.printer.filaments == 1 else [together, by_hand]
    return section("colors", "Color plan", colors, *blocks)


def _spool(result: Result, part: str) -> str:
    """Name the filament that a part was matched to, how far off it is, and the second best."""
    match = result.matching.of(part)
    if match is None or match.filament is None or match.delta_e00 is None:
        return "nothing in stock"
    own = "" if match.filament.source == "stock" else ", not in stock"
    words = f"{match.filament.name} (difference {match.delta_e00:.1f}{own})"
    if match.second is None or match.second_delta_e00 is None:
        return words
    return f"{words}; else {match.second.name} ({match.second_delta_e00:.1f})"


def loading_section(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write how the parts get into a program that prints them."""
    stem = result.stem
    names = ", ".join(f"{stem}-{entry.name}.stl" for entry in entries)
    fit = "they fit only as they lie" if result.stack.piece else "motifs begin above the base"
    opening: list[Piece] = [
        join("Open ", el("code", f"{stem}.3mf"), ": one object, its parts in their places, in millimetres."),
        join(
            "If your program takes STL only, load ", el("code", names), " together, as parts of one object."
        ),
    ]
    if result.plan.division is not None:
        plates = ", ".join(result.plan.division.files(stem))
        opening = [
            join("Open ", el("code", plates), " one after another: each fills the bed, in millimetres."),
            "The other 3MF and the STL files hold the whole piece, which the bed is too small for.",
        ]
    steps: list[Piece] = [
        *opening,
        (f"Keep the positions. Do not center parts, drop them to the bed or arrange them one by one: {fit}."),
        "Give each part its filament. Colors in a 3MF are a hint that a receiving program may ignore.",
        "Look at the preview: right size, no part missing, every color at its layer.",
    ]
    return section("loading", "Loading the parts", listing(steps, ordered=True))
