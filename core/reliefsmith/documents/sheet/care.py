"""The other half of the sheet: hardware, estimate, cautions, finishing, what to do when it looks wrong."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...findings import count_words
from ...model import Result
from ..cautions import caution_items
from ..holders import Hardware
from ..html import Markup, Piece, el, listing, section, table
from ..legend import LegendEntry
from ..wording import mm
from .holding import fitting_items

__all__ = [
    "cautions_section",
    "estimate_section",
    "finishing_section",
    "symptoms_section",
    "time_words",
]


def time_words(minutes: float) -> str:
    """Write minutes as hours and minutes.

    Examples
    --------
    >>> time_words(27.4), time_words(135), time_words(59.8)
    ('27 min', '2 h 15 min', '1 h 0 min')
    """
    whole = round(minutes)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60} min"


def estimate_section(result: Result, entries: Sequence[LegendEntry]) -> Markup:
    """Write material, time and price, and what they were reckoned with."""
    estimate, printer = result.inspection.estimate, result.recipe.printer
    rows: list[tuple[Piece, ...]] = [
        (
            f"{entry.number} {entry.title}",
            f"{mm(estimate.volume_mm3[entry.name] / 1000, 2)} cm³",
            f"{mm(estimate.mass_g[entry.name], 2)} g",
            f"{mm(estimate.filament_mm[entry.name] / 1000, 2)} m",
        )
        for entry in entries
    ]
    purge_g = printer.mass_g(estimate.purge_mm3)
    purge_m = estimate.purge_mm3 / (math.pi * printer.filament_mm**2 / 4) / 1000
    purged = (f"{mm(estimate.purge_mm3 / 1000, 2)} cm³", f"{mm(purge_g, 2)} g", f"{mm(purge_m, 2)} m")
    rows.append(("Pushed through", *purged))
    material = table(("Part", "Volume", "Mass", "Filament"), rows, caption="Material for one piece")
    count, currency = result.recipe.order.quantity, result.recipe.cost.currency
    totals: list[tuple[Piece, ...]] = [
        ("Material", f"{mm(estimate.mass_g_total)} g", f"{mm(estimate.mass_g_total * count)} g"),
        ("Printing", time_words(estimate.time_min), time_words(estimate.time_min * count)),
        (
            "Of it at the printer",
            time_words(estimate.attended_min),
            time_words(estimate.attended_min * count),
        ),
        ("Price", f"{mm(estimate.cost, 2)} {currency}", f"{mm(estimate.cost * count, 2)} {currency}"),
    ]
    pieces = count_words(count, "piece") + (", one by one" if count > 1 else "")
    head = ("Total", "One piece", "The order") if count != 1 else ("Total", "One piece")
    together = table(head, [row[: len(head)] for row in totals], caption=f"Totals, {pieces}")
    basis = el(
        "p",
        f"Reckoned with {mm(printer.flow_mm3_s)} mm³/s, {mm(printer.layer_s)} s more at each layer, "
        f"{mm(printer.change_s, 0)} s at each change of filament ({estimate.changes} here); warm-up of "
        f"{mm(printer.warm_up_min, 0)} min comes on top. "
        "The recipe's printer and cost sections hold these numbers.",
        cls="small",
    )
    return section("estimate", "Material, time, price", el("div", material, together, cls="pair"), basis)


def cautions_section(result: Result, hardware: Hardware | None) -> Markup:
    """Write the cautions; nothing here claims compliance with anything."""
    return section("cautions", "Cautions", listing(caution_items(result, hardware)))


def finishing_section(result: Result, hardware: Hardware | None, joining: Sequence[str] = ()) -> Markup:
    """Write what is done after printing; of two plates first how they are set together."""
    eyelet = any(hole.origin == "eyelet" for hole in result.plan.holes)
    never = "a motif or the eyelet" if eyelet else "a motif"
    items = [
        f"Let the bed cool, then lift the piece at the edge of its base, never by {never}.",
        (
            "Take threads and drops off with tweezers; break the sharp edge of the first layer with "
            "a fingernail or a fine file."
        ),
        *joining,
        "Look at it beside the proof: every color, every stroke, the lettering.",
    ]
    if hardware is not None:
        items += fitting_items(hardware)
    return section("finishing", "Finishing", listing(items, ordered=True))


def symptoms_section(result: Result, hardware: Hardware | None) -> Markup:
    """Write what is seen after printing, the setting it comes from, and which way to move it."""
    recipe = result.recipe
    layer = result.stack.color_changes[0].layer if result.stack.color_changes else None
    when = f"pause before layer {layer}" if layer and layer > 1 else "pauses"
    up = mm(recipe.heights.motif_mm + recipe.heights.layer_mm, 2)
    rows: list[tuple[Piece, ...]] = [
        (
            "A motif's lowest layer has the base's color",
            f"Color change ({when})",
            "One layer earlier; compare the first layer's height",
        ),
        (
            "The base's top has a motif's color",
            f"Color change ({when})",
            "One layer later; compare the first layer's height",
        ),
        ("The base shows through a light motif", _key("heights.motif_mm"), f"Up, to {up} mm"),
        (
            "Fine strokes are missing or broken",
            _join_keys("motif.min_stroke_mm", "size.width_mm"),
            "Up; or line width down",
        ),
        (
            "Gaps between motifs have closed",
            _join_keys("motif.min_gap_mm"),
            "Up; or line width or flow a little down",
        ),
        (
            "Thin lines of base between colors that should meet",
            "Flow, line width",
            "A little up; look that no part was moved",
        ),
        ("Smears of the old color in the new one", "Push-through at the change", "Up"),
        (
            f"Edges of the first layer bulge{', the hole is tight there' if result.plan.holes else ''}",
            "First-layer nozzle distance",
            "Up a little; or bed a little cooler",
        ),
        ("Corners lift from the bed", "Bed heat, a clean bed, a brim", "Up; or base.corners = round"),
        *_hardware_rows(result, hardware),
        ("Total height is not as said above", "Layer height, first layer", "As in the table of settings"),
    ]
    head = ("What you see", "Setting", "Which way")
    intro = el(
        "p", "Settings with a dot in their name stand in the recipe; the others in the program that prints."
    )
    return section(
        "symptoms",
        "When it looks wrong",
        intro,
        table(head, rows, caption="What you see and what to change", quiet=True),
    )


def _hardware_rows(result: Result, hardware: Hardware | None) -> list[tuple[Piece, ...]]:
    """Write what may look wrong with what holds the piece, and with nothing that it does not have."""
    eyelet = any(hole.origin == "eyelet" for hole in result.plan.holes)
    breaks = ("hang.wall_mm", "base.min_width_mm") if result.plan.holes else ("base.min_width_mm",)
    where = "The eyelet or a thin neck" if eyelet else "A thin neck"
    rows: list[tuple[Piece, ...]] = [
        (f"{where} breaks", _join_keys(*breaks), "Up; nozzle hotter, more walls")
    ]
    if hardware is None:
        return rows
    hole_mm = result.recipe.hang.hole_mm
    key, way = {
        "loop": ("hang.hole_mm", f"Up, to {mm(hole_mm + 0.5)} mm"),
        "screw": ("printer.hole_loss_mm", "Up, by what the hole came out too narrow"),
        "slot": ("hang.slot_mm", "Up a little, both sides"),
        "magnet": ("hang.magnet_mm", "Diameter up a little"),
        "pin": ("hang.pin_mm", "Up a little, both sides"),
        "tape": ("hang.tape_mm", "Up a little, both sides"),
    }[hardware.use]
    verb = "pass" if result.plan.holes else "go in"
    rows.insert(0, (f"The {hardware.noun} does not {verb}", _key(key), way))
    turns = hardware.use not in ("magnet", "tape") and not (
        hardware.use == "screw" and len(result.plan.holes) > 1
    )
    if turns:
        rows.append(("The piece hangs crooked", _key("hang.at_mm"), "Move toward the side that hangs low"))
    return rows


def _join_keys(*keys: str) -> list[Piece]:
    """Write setting names one after another."""
    pieces: list[Piece] = []
    for key in keys:
        pieces += [", ", _key(key)] if pieces else [_key(key)]
    return pieces


def _key(name: str) -> Markup:
    return el("code", name)
