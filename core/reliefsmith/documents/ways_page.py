"""The page of ways: the present one and others, each with its picture, what it takes and its settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PIL import Image

from ..colorimetry import color_phrase, color_word
from ..findings import Severity, count_words
from ..model import Result, Way
from ..polygons.cover import View
from ..recipe.recipe import toml_value
from ..recipe.sections import CostSettings
from .canvas import png_bytes
from .html import Markup, Piece, el, facts
from .page import asset, page, png_data
from .sheet.care import time_words
from .sheet.numbered import numbered_areas
from .views import color_picture, front_face, shadow_of
from .wording import mm, size_words

__all__ = ["settings_toml", "ways_html", "ways_mapping"]

_PICTURE_PX = 560
"""Longest side of the largest picture: twice the size at which it is shown."""

_PAD_PX = 20
"""Room round a picture for its shadow, which is as wide for every size."""

_MOST_LOST, _LEAST_LOST = 2, 0.03
"""Places that do not show, told of each way at most, and their size by the artwork's longest side."""

_SHAPES = {
    "outline": "Base along the outline",
    "hull": "Base round the outline, without bays",
    "circle": "Round base",
    "rectangle": "Rectangular base",
    "shield": "Base as a shield",
}
_STYLES = {
    "stepped": "Each color one step higher",
    "raised": "All colors raised alike",
    "flush": "Colors level with the base",
    "sunk": "Colors sunk into the base",
}


def settings_toml(settings: Mapping[str, Any]) -> str:
    """Write dotted settings as lines of a recipe.

    Examples
    --------
    >>> print(settings_toml({"base.shape": "circle", "base.border_mm": 1.5}))
    [base]
    shape = "circle"
    border_mm = 1.5
    """
    tables: dict[str, list[str]] = {}
    for dotted, value in settings.items():
        section, _, key = dotted.partition(".")
        tables.setdefault(section, [f"[{section}]"]).append(f"{key} = {toml_value(value)}")
    return "\n".join(line for table in tables.values() for line in table)


def ways_mapping(ways: Sequence[Way]) -> dict[str, Any]:
    """Return what the page says of each way, as plain values."""
    first = ways[0].result
    return {"schema": 1, "ways": [_row(number, way, first) for number, way in enumerate(ways, start=1)]}


def _row(number: int, way: Way, first: Result) -> dict[str, Any]:
    result = way.result
    estimate, seen = result.inspection.estimate, result.fidelity
    return {
        "number": number,
        "title": _title_of(way, first),
        "settings": dict(way.settings),
        "edges_kept": None if seen is None else round(seen.edges_kept, 4),
        "paint_right": None if seen is None else round(seen.paint_right, 4),
        "style": result.stack.style,
        "parts": len(result.parts),
        "changes": estimate.changes,
        "time_min": round(estimate.time_min, 2),
        "attended_min": round(estimate.attended_min, 2),
        "cost": round(estimate.cost, 2),
    }


def _title_of(way: Way, first: Result) -> str:
    """Say in a few words in what a way differs from the present one."""
    result, base = way.result, color_word(way.result.plan.base_color)
    if way.kind == "base":
        return f"Base in {color_phrase(result.plan.base_color)}"
    also = "" if result.plan.base_color == first.plan.base_color else f", in {base}"
    if way.kind == "shape":
        return _SHAPES[result.recipe.base.shape] + also
    if way.kind == "size":
        letters = first.lettering.lost and not result.lettering.lost
        what = "all lettering prints" if letters else "more of it prints"
        return f"{mm(result.plan.artwork_mm[0], 0)} mm wide: {what}{also}"
    if way.kind == "colors":
        return f"In {count_words(len({part.color for part in result.parts}), 'color')}{also}"
    return _STYLES[result.stack.style] if way.kind == "style" else "As it is now"


def ways_html(ways: Sequence[Way]) -> bytes:
    """Write the page of ways, the present one first, as one self-contained HTML file in UTF-8."""
    first = ways[0].result
    name = first.recipe.order.title or first.stem
    longest = max(side for way in ways for side in _size(way.result))
    cards = [_card(number, way, first, _PICTURE_PX / longest) for number, way in enumerate(ways, start=1)]
    count = f"{len(ways)} ways" if len(ways) > 1 else "One way"
    body = el(
        "body",
        el("header", el("p", f"{count} to make it", cls="kind"), el("h1", name), el("p", _lead(ways))),
        el("main", el("div", *cards, cls="ways"), *_areas(first)),
    )
    return page(f"{count}: {name}", body, asset("sheet.css") + asset("ways.css"))


def _lead(ways: Sequence[Way]) -> str:
    if len(ways) == 1:
        return "No other way that was tried keeps as much of the picture and looks different."
    return "All are drawn at one scale. Say a number, or put its lines into the recipe."


def _size(result: Result) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = front_face(result.stack).bounds
    return high_x - low_x, high_y - low_y


def _card(number: int, way: Way, first: Result, px_per_mm: float) -> Markup:
    result, title = way.result, _title_of(way, first)
    picture = _picture(result, px_per_mm)
    source, width = png_data(png_bytes(picture)), str(picture.width // 2)
    image = el("img", src=source, alt=f"Way {number}: {title}", width=width)
    badge = el("span", str(number), cls="number")
    return el(
        "article",
        el("figure", image),
        el("h2", badge, " ", title),
        facts(_facts(result, first)),
        *_cautions(result),
        *_lines(number, way),
        cls="way present" if number == 1 else "way",
    )


def _picture(result: Result, px_per_mm: float) -> Image.Image:
    """Draw the front as the proof does, with its shadow."""
    face = front_face(result.stack)
    picture = color_picture(face, View.around(face.bounds, px_per_mm, pad_mm=_PAD_PX / px_per_mm))
    return Image.alpha_composite(shadow_of(picture, 2 * _PAD_PX / 5), picture)


def _facts(result: Result, first: Result) -> list[tuple[str, Piece]]:
    """Say what comes of a way, and beside it by how much that differs from the present one."""
    rows: list[tuple[str, Piece]] = []
    if result.fidelity is not None and first.fidelity is not None:
        for words, share, present in (
            ("Edges kept", result.fidelity.edges_kept, first.fidelity.edges_kept),
            ("Paint right", result.fidelity.paint_right, first.fidelity.paint_right),
        ):
            rows.append((words, _beside(f"{100 * share:.1f} %", 100 * (share - present), 1)))
    estimate, present_one = result.inspection.estimate, first.inspection.estimate
    parts = len(result.parts)
    rows += [
        ("Parts", _beside(str(parts), parts - len(first.parts))),
        ("Color changes", _beside(str(estimate.changes), estimate.changes - present_one.changes)),
        ("Printing", _beside(time_words(estimate.time_min), estimate.time_min - present_one.time_min)),
        ("At the printer", time_words(estimate.attended_min)),
    ]
    cost = result.recipe.cost
    if cost != CostSettings():  # else the price would be that of plastic at an assumed price alone
        price = f"{estimate.cost:.2f} {cost.currency}"
        rows.append(("Price", _beside(price, estimate.cost - present_one.cost, 2)))
    return [*rows, ("Size", size_words(result))]


def _beside(value: str, more: float, decimals: int = 0) -> Piece:
    """Write a value and, in small type, what it has more or less than the present way."""
    more = round(more, decimals)
    return [value, " ", el("small", f"{more:+.{decimals}f}")] if more else value


def _cautions(result: Result) -> list[Piece]:
    """Say what of the picture does not show, and what is to be looked at."""
    least = _LEAST_LOST * max(result.plan.artwork_mm)
    lost = [item for item in result.fidelity.lost if item.size_mm >= least] if result.fidelity else []
    words = [f"Lost: {item.what}, {mm(item.size_mm)} mm." for item in lost[:_MOST_LOST]]
    grave = [item for item in result.findings if item.severity is not Severity.NOTE]
    words += [item.message for item in grave if item.code not in ("edges-lost", "color-wrong")]
    return [el("ul", *(el("li", line) for line in words), cls="cautions")] if words else []


def _lines(number: int, way: Way) -> list[Piece]:
    if not way.settings:
        return []
    again = el("p", "or again with ", el("code", f"--pick {number}"), cls="small")
    return [el("pre", settings_toml(way.settings)), again]


def _areas(result: Result) -> list[Piece]:
    """Show the areas with their numbers, for marks on single ones."""
    if not result.areas.numbered:
        return []
    words = "A mark in the recipe corrects one of them by its number, as in "
    about = el("p", words, el("code", 'at = "area 1"'), "; look at them close up.")
    return [el("h2", "Areas by number"), about, el("figure", numbered_areas(result.areas), cls="areas")]
