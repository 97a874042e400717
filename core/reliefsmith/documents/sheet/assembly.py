"""How the parts of a piece that is cut are put together: a drawing with their numbers, and the order."""

from __future__ import annotations

import shapely

from ...colorimetry import to_hex
from ...model import Division, Result, Segment
from ...polygons import inscribed
from ..canvas import INK
from ..html import Markup, el, listing, section
from ..wording import mm
from .planview import path_of

__all__ = ["assembly_section"]

NUMBER_SHARE = 0.05
"""Height of a number in the drawing, by its longest side; smaller where its part is."""


def assembly_section(result: Result) -> Markup:
    """Write which parts there are, where each is printed, and in which order they go together.

    Empty for a piece that is not cut.
    """
    division = result.plan.division
    if division is None:
        return Markup("")
    figure = el("figure", _drawing(result, division), el("figcaption", "The parts, seen from the front"))
    words = el("div", el("p", _intro(result, division)), listing(_steps(division), ordered=True))
    return section("assembly", "Putting the parts together", el("div", figure, words, cls="pair wide-right"))


def _intro(result: Result, division: Division) -> str:
    names = ", ".join(division.files(result.stem))
    numbered = any(not one.digits.is_empty for one in division.segments)
    where = " Each has its number sunk into its back." if numbered else ""
    return (
        f"{len(division.segments)} parts, {mm(division.clearance_mm, 2)} mm apart when they lie together."
        f" Print {names}, each as it is.{where} Rub off what the first layer spread at the edges, and try all"
        " parts dry before any glue."
    )


def _steps(division: Division) -> list[str]:
    under = not division.tabs.is_empty
    steps = []
    for number, one in enumerate(division.segments):
        size = _size(one)
        before = [other for other in division.segments[:number] if _meets(one, other, division)]
        beside = " and ".join(str(other.number) for other in before)
        if not before:
            steps.append(
                f"Part {one.number} ({size}, plate {one.plate}): lay it down, face up, on a flat table."
            )
            continue
        if not division.keys:
            how = f"lay it beside part {beside} with a thin line of glue on the edge"
        elif under:
            how = f"set it down from above onto the keys of part {beside}"
        else:
            how = f"press it down from above between the keys of part {beside}"
        steps.append(f"Part {one.number} ({size}, plate {one.plate}): {how}.")
    steps.append(
        "Turn the whole over on a second board; a drop of glue on each joint from behind keeps it for good."
    )
    return steps


def _size(one: Segment) -> str:
    x0, y0, x1, y1 = one.outline.bounds
    return f"{mm(x1 - x0, 0)} x {mm(y1 - y0, 0)} mm"


def _meets(one: Segment, other: Segment, division: Division) -> bool:
    return bool(shapely.dwithin(one.outline, other.outline, division.clearance_mm + 0.01))


def _drawing(result: Result, division: Division) -> Markup:
    """Draw motifs in their colors, the parts' outlines over them, numbers at their widest places."""
    plan = result.plan
    low_x, low_y, high_x, high_y = division.whole.bounds
    longest = max(high_x - low_x, high_y - low_y)
    pad, ink = 0.02 * longest, to_hex(INK)
    colors = [(plan.base_color, plan.base), *((item.color, item.polygon) for item in plan.motifs)]
    drawn = [
        el("path", d=path_of(shape), fill=to_hex(color), fill_rule="evenodd", opacity="0.45")
        for color, shape in colors
    ]
    line = f"{0.004 * longest:.2f}"
    edges = [path_of(one.outline) for one in division.segments]
    drawn += [el("path", d=path, fill="none", stroke=ink, stroke_width=line) for path in edges]
    for one in division.segments:
        place = inscribed(one.outline)
        size = min(NUMBER_SHARE * longest, 1.2 * place.radius)
        at = {"cx": f"{place.x:.2f}", "cy": f"{-place.y:.2f}"}
        drawn.append(el("circle", **at, r=f"{0.8 * size:.2f}", fill="#ffffff", stroke=ink, stroke_width=line))
        words = {"x": at["cx"], "y": f"{-place.y + 0.36 * size:.2f}", "font_size": f"{size:.2f}"}
        drawn.append(el("text", str(one.number), **words, text_anchor="middle", cls="mark"))
    box = (low_x - pad, -high_y - pad, high_x - low_x + 2 * pad, high_y - low_y + 2 * pad)
    title = f"The piece from the front, cut into {len(division.segments)} numbered parts"
    return el(
        "svg",
        el("title", title),
        *drawn,
        viewBox=" ".join(f"{value:.2f}" for value in box),
        cls="plan",
        role="img",
    )
