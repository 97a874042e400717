"""The printing half of the sheet: what the settings must be, when colors change, how parts are loaded."""

from __future__ import annotations

from collections.abc import Sequence

from ...colorimetry import to_hex
from ...model import Result
from ..html import Markup, Piece, el, join, listing, section, table
from ..legend import LegendEntry
from ..wording import height_words, layer_words, mm
from .planview import swatch
from .turned import jobs_block, lying_rows, plate_entries

__all__ = ["color_section", "loading_section", "settings_section"]


_PLATES = (
    "Print the two plates one after the other, so that the pegs of the one and the colors of the other share"
    " no layers: first base alone, in one color; then back with its motifs."
    " What follows is about the back plate. "
)


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
    by_hand, together = _by_hand(result, entries), _several(result, entries)
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


def _by_hand(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write the changes of one filament by hand, in plain words."""
    head = el("h3", "With one filament, changed by hand")
    changes = result.stack.color_changes
    if not changes:
        return el("div", head, el("p", "One color from first to last: no change."), cls="block")
    if not result.stack.by_height:
        return el("div", head, _mixed_layers(result, entries), cls="block")
    steps = [_change(result, number, entries) for number in range(len(changes))]
    _, back = plate_entries(result, entries)
    first = el("p", f"{_PLATES if back else ''}Begin with {_named(entries, entries[0].hex)}.")
    return el("div", head, first, listing(steps, ordered=True, cls="changes"), cls="block")


def _mixed_layers(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Say why pauses before a layer are not enough where a layer holds several colors."""
    names = ", ".join(f"{entry.number} {entry.title}" for entry in entries if entry.role != "base")
    count = result.inspection.estimate.changes
    _, back = plate_entries(result, entries)
    return join(
        el("p", _PLATES.strip()) if back else "",
        el(
            "p",
            (
                f"Some layers hold more than one color ({names}): {count} changes in all, several of "
                "them in one layer."
            ),
        ),
        el(
            "p",
            (
                "A pause before a layer is not enough here. Print with several filaments, or change "
                "at every filament change that your program puts into the layers. "
                "Fewer colors (colors.count) mean fewer changes."
            ),
        ),
    )


def _change(result: Result, number: int, entries: Sequence[LegendEntry]) -> Piece:
    """Write one change: last old layer, its top, the pause, and what to do at it."""
    change = result.stack.color_changes[number]
    before = result.stack.color_changes[number - 1].color if number else entries[0].color
    old = _named(entries, to_hex(before))
    new = _named(entries, to_hex(change.color))
    last = change.layer - 1
    steps = [
        f"Take out {old}.",
        f"Load {new}.",
        f"Push it through until no {old} shows in it.",
        "Wipe the nozzle; look that nothing hangs from it and that the piece still sits firmly on the bed.",
        f"Go on. Watch the first lines of layer {change.layer}: they must be {new}.",
    ]
    lead = join(
        el("strong", f"Pause before layer {change.layer}."),
        f" Layer {last} is the last in {old}; its top is at {mm(change.z_mm, 2)} mm.",
    )
    return join(el("p", lead), listing(steps))


def _several(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write what to do with several filaments loaded at once."""
    estimate = result.inspection.estimate
    first = {entry.color: entry for entry in reversed(entries)}  # a back plate has the base's color
    pairs = ", ".join(f"{entry.number} {entry.title}" for entry in entries if first[entry.color] is entry)
    _, back = plate_entries(result, entries)
    purge = (
        (
            f"About {mm(estimate.purge_mm3 / 1000, 2)} cm³ are pushed through at {estimate.changes} "
            "changes; keep a place for it on the bed."
        )
        if estimate.purge_mm3 > 0
        else "Each color changes once, between two layers, so nothing need be pushed through inside a layer."
    )
    steps = [
        f"Load the filaments and note which is where: {pairs}.",
        "Give each part its filament, by its name.",
        f"In the preview, look at layer by layer: {_turning_points(result)}.",
        purge,
    ]
    if back:
        steps.insert(0, _PLATES.strip())
    return el("div", el("h3", "With several filaments loaded"), listing(steps, ordered=True), cls="block")


def _turning_points(result: Result) -> str:
    changes = result.stack.color_changes
    if not changes:
        return "one color all through"
    layers = list(dict.fromkeys(change.layer for change in changes))
    shown = ", ".join(str(layer) for layer in layers[:6])
    more = f" and {len(layers) - 6} more" if len(layers) > 6 else ""
    return f"new colors begin at layer {shown}{more}"


def _named(entries: Sequence[LegendEntry], code: str) -> str:
    """Name the filament of a color by the part that has it."""
    return next((entry.filament for entry in entries if entry.hex == code), code)


def loading_section(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write how the parts get into a program that prints them."""
    stem = result.stem
    names = ", ".join(f"{stem}-{entry.name}.stl" for entry in entries)
    fit = "they fit only as they lie" if result.stack.piece else "motifs begin above the base"
    steps: list[Piece] = [
        join("Open ", el("code", f"{stem}.3mf"), ": one object, its parts in their places, in millimetres."),
        join(
            "If your program takes STL only, load ", el("code", names), " together, as parts of one object."
        ),
        (f"Keep the positions. Do not center parts, drop them to the bed or arrange them one by one: {fit}."),
        "Give each part its filament. Colors in a 3MF are a hint that a receiving program may ignore.",
        "Look at the preview: right size, no part missing, every color at its layer.",
    ]
    return section("loading", "Loading the parts", listing(steps, ordered=True))
