"""The sheet of the coupon: how to print it, what to look at and measure, what to type into the recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..colorimetry import color_phrase, to_hex
from ..model import Stack
from ..model.arrays import Color
from ..polygons.cover import View
from .canvas import png_bytes
from .html import Markup, Piece, el, facts, join, listing, section, table
from .page import asset, page, png_data
from .views import Face, back_face, color_picture, front_face
from .wording import mm

__all__ = ["Row", "coupon_html"]

PICTURE_PX_PER_MM = 16
PAD_MM = 0.5
LETTER_BELOW_MM = {"stroke": 4.1, "gap": 4.1, "step": 4.3, "thick": 4.3, "dot": 3.4, "hole": 4.6, "face": 6.2}
"""How far the letter of a row stands below the middle of its first feature."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of features: its letter on the picture, what it is, its sizes, where it begins (mm)."""

    letter: str
    kind: str
    sizes: tuple[float, ...]
    at_mm: tuple[float, float]


_WHAT = {
    "stroke": ("Light strokes", "mm wide", "the narrowest that is whole, straight and holds when rubbed"),
    "gap": ("Gaps between light blocks", "mm wide", "the narrowest that you can see through to the dark"),
    "step": ("Light over dark", "layers", "its color, of the patch where the dark just shines through"),
    "thick": ("Light alone", "mm across", "its color: nothing shines through here"),
    "dot": ("Light dots", "mm across", "the smallest that is round and holds when rubbed"),
    "hole": ("Holes", "mm across", "their diameters, with a caliper or the shanks of drills"),
    "face": ("Strokes on the underside", "mm wide", "the narrowest that is whole, laid face down on the bed"),
}


def coupon_html(
    stack: Stack,
    rows: Sequence[Row],
    *,
    colors: tuple[Color, Color],
    layer_mm: float,
    first_layer_mm: float,
    stem: str,
) -> bytes:
    """Write the sheet as UTF-8.

    Parameters
    ----------
    stack : Stack
        The coupon on its layers.
    rows : sequence of Row
        In the order of reading.
    colors : (color, color)
        Dark and light.
    layer_mm, first_layer_mm : float
    stem : str
        Of the file names.
    """
    body = el(
        "body",
        el("a", "Skip to the sheet", href="#sheet", cls="skip"),
        el(
            "header",
            el("p", "Test piece", cls="kind"),
            el("h1", "What this printer and these filaments can do"),
        ),
        el(
            "main",
            _printing(stack, colors, (layer_mm, first_layer_mm), stem),
            _pictures(stack, rows),
            _reading(rows),
            _recipe(colors, layer_mm),
            _cautions(),
            id="sheet",
        ),
    )
    return page("Test piece", body, asset("sheet.css"))


def _printing(stack: Stack, colors: tuple[Color, Color], layers: tuple[float, float], stem: str) -> Markup:
    dark, light = (color_phrase(color) for color in colors)
    change = stack.color_changes[-1]
    parts = list(dict.fromkeys(slab.part for slab in stack.slabs))
    rows: list[tuple[str, Piece]] = [
        ("Dark filament", dark),
        ("Light filament", light),
        ("Layer height", f"{mm(layers[0], 2)} mm, first layer {mm(layers[1], 2)} mm"),
        ("Fill", "solid, 100 %, as the pieces themselves"),
    ]
    steps: list[Piece] = [
        join("Open ", el("code", f"{stem}.3mf"), " or load all STL files together as parts of one object."),
        (
            f"The strip {parts[-1]} lies on the bed in the first layer, in the light filament. With one"
            f" filament loaded print it first, as a job of its own, leave it on the bed, and print the rest"
            " over it in the same place. Without it leave the strip out; its row is then empty."
        ),
        (
            f"Pause before layer {change.layer} (underside at {mm(change.z_mm, 2)} mm), and change from dark"
            " to light."
        ),
        "Print it as you print your pieces: same nozzle, same temperature, same speed.",
    ]
    return section("printing", "Printing it", facts(rows), listing(steps, ordered=True))


def _pictures(stack: Stack, rows: Sequence[Row]) -> Markup:
    above = [row for row in rows if row.kind != "face"]
    below = [row for row in rows if row.kind == "face"]
    seen = (
        ("From above, the cut corner upper left", front_face(stack), above, 1.0),
        ("From below, the cut corner upper right", back_face(stack), below, -1.0),
    )
    figures = [
        el("figure", _picture(face, shown, side, words), el("figcaption", f"{words}. {_letters(shown)}"))
        for words, face, shown, side in seen
    ]
    return section("pictures", "What is where", el("div", *figures, cls="pair"))


def _letters(rows: Sequence[Row]) -> str:
    return " ".join(f"{row.letter}: {_WHAT[row.kind][0].lower()}." for row in rows)


def _picture(face: Face, rows: Sequence[Row], side: float, words: str) -> Markup:
    """Draw a side with the letter of each row before its first feature; x is mirrored from below."""
    view = View.around(face.bounds, PICTURE_PX_PER_MM, pad_mm=PAD_MM)
    width, height = view.size_px
    letters = [
        el(
            "text",
            row.letter,
            x=f"{(side * row.at_mm[0] - view.left_mm) * view.px_per_mm:.0f}",
            y=f"{(view.top_mm - row.at_mm[1] + LETTER_BELOW_MM[row.kind]) * view.px_per_mm:.0f}",
            fill="#ffffff",
            font_size="30",
            text_anchor="middle",
        )
        for row in rows
    ]
    png = png_data(png_bytes(color_picture(face, view)))
    return el(
        "svg",
        el("image", href=png, width=str(width), height=str(height)),
        *letters,
        viewBox=f"0 0 {width} {height}",
        role="img",
        aria_label=words,
        cls="plan",
    )


def _reading(rows: Sequence[Row]) -> Markup:
    lines: list[tuple[Piece, ...]] = [
        (
            f"{row.letter} {_WHAT[row.kind][0]}",
            f"{', '.join(f'{size:g}' for size in row.sizes)} {_WHAT[row.kind][1]}",
            _WHAT[row.kind][2],
            "",
        )
        for row in rows
    ]
    note = el(
        "p",
        (
            "Read colors in one light, with a colorimeter, or from one photograph in daylight that also shows"
            " a sheet of white paper; read the bare dark plate as well."
        ),
    )
    head = ("Row", "Sizes, small to large", "Note down", "Your reading")
    return section("reading", "Reading it", table(head, lines, caption="What to look at", quiet=True), note)


def _recipe(colors: tuple[Color, Color], layer_mm: float) -> Markup:
    rows: list[tuple[Piece, ...]] = [
        (
            el("code", "printer.least_stroke_mm"),
            "the narrowest good stroke",
            "Thinner strokes are thickened to it.",
        ),
        (el("code", "printer.least_gap_mm"), "the narrowest open gap", "Narrower gaps are opened or closed."),
        (
            el("code", "printer.hole_loss_mm"),
            "drawn diameter less measured one, the mean of all holes",
            "Hanging holes are drawn wider by it.",
        ),
        (
            join(el("code", "printer.least_stroke_mm"), " for pieces printed face down"),
            "the narrowest good stroke of the underside",
            "In the recipes of these pieces only.",
        ),
        (el("code", "motif.min_dot_mm"), "the smallest good dot", "Smaller dots are enlarged or left out."),
        (
            el("code", "color"),
            "color of the thick patch",
            "In the table of this filament, filaments.stock.",
        ),
        (
            el("code", "thin_color, thin_mm, thin_over"),
            f"color of one patch, its layers times {mm(layer_mm, 2)} mm, color of the bare plate",
            "From these its scattering and absorption follow, and how many layers hide a darker color.",
        ),
    ]
    example = "\n".join(
        [
            "[printer]",
            "least_stroke_mm = 0.5",
            "least_gap_mm = 0.4",
            "hole_loss_mm = 0.15",
            "",
            "[[filaments.stock]]",
            'name = "light, second shelf"',
            f'color = "{to_hex(colors[1])}"',
            'thin_color = "#c9cac8"',
            f"thin_mm = {2 * layer_mm:g}",
            f'thin_over = "{to_hex(colors[0])}"',
        ]
    )
    return section(
        "recipe",
        "Typing it in",
        table(("Setting", "Value", "What it changes"), rows, caption="Where readings go", quiet=True),
        el("p", "An example; put your own readings in its place:"),
        el("pre", example),
    )


def _cautions() -> Markup:
    words = [
        "The nozzle and the bed are hot. Air the room while printing; some filaments give off fumes.",
        "Loose strokes and dots are small parts: keep the piece and its crumbs away from small children.",
    ]
    return section("cautions", "Cautions", listing(words))
