"""The job sheet: one self-contained HTML page to print by, without network, every text escaped."""

from __future__ import annotations

from ...findings import count_words
from ...model import Result
from ...polygons.cover import View
from ..canvas import png_bytes
from ..holders import hardware_of
from ..html import Markup, el, facts, section
from ..legend import legend
from ..page import asset, page, png_data
from ..views import Face, color_picture, front_face
from ..wording import AUDIENCE, kind_words, mm, sides_words, size_words, style_words
from .accessories_list import accessories_section
from .assembly import assembly_section
from .care import cautions_section, estimate_section, finishing_section, symptoms_section, time_words
from .found import found_section
from .holding import hardware_section
from .planview import hatch_definitions
from .printing import color_section, loading_section, settings_section
from .turnable import as_held, view_data
from .turned import joining_items, prints_words

__all__ = ["sheet_html"]

PICTURE_PX = 560
"""Longest side of the front's picture: twice the size at which it is shown."""

_CONTENTS = (
    ("glance", "At a glance"),
    ("settings", "Settings"),
    ("colors", "Color plan"),
    ("loading", "Loading"),
    ("findings", "Findings"),
    ("assembly", "Putting the parts together"),
    ("accessories", "What goes with it"),
    ("hardware", "Hanging"),
    ("estimate", "Material, time, price"),
    ("cautions", "Cautions"),
    ("finishing", "Finishing"),
    ("symptoms", "When it looks wrong"),
    ("proof", "Proof"),
)


def sheet_html(result: Result, *, proof_png: bytes, front: Face | None = None) -> bytes:
    """Write the job sheet of a job as UTF-8.

    One file that asks nothing of the network: style and script stand inside and are the only ones that the
    page's policy allows, by their hashes; pictures are data. It reads without script, in black and white and
    on paper; only the turnable view needs the script.

    Parameters
    ----------
    result : Result
    proof_png : bytes
        The proof, shown at the end.
    front : Face, optional
        The piece seen from the front, if that is at hand.
    """
    order = result.recipe.order
    title = order.title or result.stem
    face, entries = front or front_face(result.stack), legend(result)
    hardware = hardware_of(result)
    style, script = asset("sheet.css"), asset("sheet.js")
    body = el(
        "body",
        el("a", "Skip to the sheet", href="#sheet", cls="skip"),
        hatch_definitions(entries),
        _heading(result, title),
        el(
            "main",
            _glance(result, face, title),
            settings_section(result, entries),
            color_section(result, entries),
            loading_section(result, entries),
            found_section(result, face, entries),
            assembly_section(result),
            accessories_section(result),
            hardware_section(result, hardware),
            estimate_section(result, entries),
            cautions_section(result, hardware),
            finishing_section(result, hardware, joining_items(result)),
            symptoms_section(result, hardware),
            _proof(proof_png),
            id="sheet",
        ),
        el(
            "script",
            Markup(view_data(as_held(result.parts, result.stack)).replace("<", "\\u003c")),
            type="application/json",
            id="solids",
        ),
        el("script", Markup(script)),
    )
    return page(f"Job sheet: {title}", body, style, script)


def _heading(result: Result, title: str) -> Markup:
    """Write title, order and contents."""
    order = result.recipe.order
    pieces = count_words(order.quantity, "piece")
    rows = [
        ("Order", order.code),
        ("For", order.customer),
        ("Their reference", order.reference),
        ("Pieces", f"{pieces}, {AUDIENCE[result.recipe.audience]}"),
        ("Wanted by", order.deadline),
        ("Spelled exactly", order.spelling),
        ("Hangs on, as ordered", order.hardware),
        ("Rights", order.rights),
        ("Code of these files", result.approval.code if result.approval else ""),
    ]
    absent = {"assembly"} if result.plan.division is None else set()
    absent |= set() if result.accessories else {"accessories"}
    contents = [item for item in _CONTENTS if item[0] not in absent]
    links = [el("li", el("a", words, href=f"#{anchor}")) for anchor, words in contents]
    return el(
        "header",
        el("p", "Job sheet", cls="kind"),
        el("h1", title),
        facts([(name, words) for name, words in rows if words]),
        el("nav", el("ul", *links), aria_label="On this sheet"),
    )


def _glance(result: Result, face: Face, title: str) -> Markup:
    """Write the facts that come first, beside the front and the turnable view."""
    estimate, stack = result.inspection.estimate, result.stack
    rows = [
        ("Size", size_words(result)),
        ("Picture", kind_words(result)),
        ("Drawing", sides_words(result.plan.artwork_mm)),
        ("Parts", _parts_words(result)),
        ("Prints", prints_words(result)),
        ("Style", style_words(result)),
        ("Layers", f"{len(stack.layer_tops_mm)} of {mm(result.recipe.heights.layer_mm, 2)} mm"),
        ("Color changes", str(estimate.changes)),
        ("Printing", time_words(estimate.time_min)),
        ("At the printer", time_words(estimate.attended_min)),
        ("Mass", f"{mm(estimate.mass_g_total)} g"),
    ]
    picture = el(
        "img", src=png_data(_front_picture(face)), alt=f"Front of {title}, as it will be printed", cls="front"
    )
    front = el("figure", picture, el("figcaption", "Front"))
    return section(
        "glance",
        "At a glance",
        el("div", facts([row for row in rows if row[1]]), front, _turnable(title), cls="glance"),
    )


def _parts_words(result: Result) -> str:
    """Write how many solids there are, and into how many parts the piece is cut."""
    division = result.plan.division
    cut = f", the piece in {len(division.segments)} parts" if division is not None else ""
    return f"{len(result.parts)}{cut}"


def _turnable(title: str) -> Markup:
    """Write the turnable view, shown only where its script runs."""
    buttons = [
        el("button", words, type="button", data_look=look)
        for words, look in (("Front", "front"), ("Back", "back"), ("Edge", "edge"), ("Slant", "slant"))
    ]
    buttons += [
        el("button", "Larger", type="button", data_zoom="1.25"),
        el("button", "Smaller", type="button", data_zoom="0.8"),
        el("button", "Turn", type="button", data_turn=True, aria_pressed="false"),
    ]
    help_words = "Drag to turn. With the keyboard: arrow keys turn, plus and minus resize, Home returns."
    return el(
        "figure",
        el(
            "canvas",
            width="640",
            height="640",
            tabindex="0",
            role="img",
            aria_label=f"Turnable view of {title}",
            aria_describedby="view-help",
        ),
        el("div", *buttons, cls="buttons", role="group", aria_label="Turnable view"),
        el("figcaption", help_words, id="view-help"),
        id="view",
        hidden=True,
    )


def _proof(proof_png: bytes) -> Markup:
    picture = el("img", src=png_data(proof_png), alt="The proof page, as the customer gets it", cls="proof")
    return section("proof", "Proof", el("figure", picture))


def _front_picture(face: Face) -> bytes:
    low_x, low_y, high_x, high_y = face.bounds
    scale = PICTURE_PX / max(high_x - low_x, high_y - low_y)
    return png_bytes(color_picture(face, View.around(face.bounds, scale, pad_mm=2 / scale)))
