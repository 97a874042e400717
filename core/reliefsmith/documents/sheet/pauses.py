"""The changes of filament in words: pauses at which a hand changes it, or several filaments loaded."""

from __future__ import annotations

from collections.abc import Sequence

from ...colorimetry import to_hex
from ...model import Result
from ..html import Markup, Piece, el, join, listing
from ..legend import LegendEntry
from ..wording import mm
from .turned import plate_entries

__all__ = ["changes_by_hand", "changes_loaded"]

_PLATES = (
    "Print the two plates one after the other, so that the pegs of the one and the colors of the other share"
    " no layers: first base alone, in one color; then back with its motifs."
    " What follows is about the back plate. "
)


def changes_by_hand(result: Result, entries: Sequence[LegendEntry]) -> Markup:
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


def changes_loaded(result: Result, entries: Sequence[LegendEntry]) -> Markup:
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
    return f"new colors begin at layer{'s' * (len(layers) > 1)} {shown}{more}"


def _named(entries: Sequence[LegendEntry], code: str) -> str:
    """Name the filament of a color by the part that has it."""
    return next((entry.filament for entry in entries if entry.hex == code), code)
