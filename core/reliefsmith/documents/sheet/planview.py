"""The plan as a drawing for the sheet: parts in color and hatch, findings and changes at their places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...colorimetry import to_hex
from ...polygons import polygons_of
from ..canvas import INK
from ..hatch import hatch_for, hatch_svg
from ..html import Markup, el, join
from ..legend import LegendEntry
from ..proof.section_figure import ink_on
from ..views import Face

__all__ = ["Mark", "hatch_definitions", "marked_plan", "path_of", "swatch"]

SIMPLIFY_MM = 0.02
"""Points nearer than this to a line are left out: a fifth of a printed hairline."""
MARK_SHARE = 0.026
"""Radius of a mark by the longest side of the drawing."""
_TRIES = 14


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark: what is written in it, where it points, and whether it is round (a finding) or square."""

    text: str
    at_mm: tuple[float, float]
    round: bool


def hatch_definitions(entries: Sequence[LegendEntry]) -> Markup:
    """Write the hatch of every color once for the page: in ink for paper, in ink that shows on the color."""
    patterns = []
    for entry in entries:
        hatch, number = hatch_for(entry.number), entry.number
        patterns.append(Markup(hatch_svg(hatch, f"hatch-{number}", to_hex(INK))))
        patterns.append(Markup(hatch_svg(hatch, f"hatch-on-{number}", to_hex(ink_on(entry.color)))))
    return el("svg", el("defs", *patterns), cls="defs", aria_hidden="true", width="0", height="0")


def swatch(entry: LegendEntry) -> Markup:
    """Write a small picture of a color: half plain, half in its hatch."""
    return el(
        "svg",
        el("rect", width="6", height="6", fill=entry.hex),
        el("rect", x="6", width="4", height="6", fill="#ffffff"),
        el("rect", x="6", width="4", height="6", fill=f"url(#hatch-{entry.number})"),
        el(
            "rect",
            x="0.1",
            y="0.1",
            width="9.8",
            height="5.8",
            fill="none",
            stroke="#8a8f96",
            stroke_width="0.2",
        ),
        viewBox="0 0 10 6",
        cls="swatch",
        aria_hidden="true",
    )


def marked_plan(
    face: Face,
    entries: Sequence[LegendEntry],
    marks: Sequence[Mark],
    *,
    title: str,
    dots: Sequence[tuple[float, float]] = (),
) -> Markup:
    """Draw the piece from above with its marks; `title` says in words what is seen."""
    low_x, low_y, high_x, high_y = face.bounds
    radius = MARK_SHARE * max(high_x - low_x, high_y - low_y)
    pad = 3 * radius
    shapes = [_shape(shape, entries[part]) for shape, part in zip(face.shapes, face.parts, strict=True)]
    spots = _spread([(mark.at_mm[0], -mark.at_mm[1]) for mark in marks], radius)
    drawn = [_mark(mark, spot, radius) for mark, spot in zip(marks, spots, strict=True)]
    box = (low_x - pad, -high_y - pad, high_x - low_x + 2 * pad, high_y - low_y + 2 * pad)
    return el(
        "svg",
        el("title", title),
        *shapes,
        *(_dot(x, -y, radius * 0.3) for x, y in dots),
        *drawn,
        viewBox=" ".join(f"{value:.2f}" for value in box),
        cls="plan",
        role="img",
    )


def _shape(shape: shapely.Geometry, entry: LegendEntry) -> Markup:
    """Draw one part: its color, over it its hatch in an ink that shows."""
    path = path_of(shape)
    fill = f"url(#hatch-on-{entry.number})"
    hatched = el("path", d=path, fill=fill, fill_rule="evenodd", opacity="0.5")
    outline = to_hex(INK)
    plain = el("path", d=path, fill=entry.hex, fill_rule="evenodd", stroke=outline, stroke_width="0.12")
    return join(plain, hatched)


def path_of(shape: shapely.Geometry) -> str:
    """Write polygons as path data, y down."""
    words = []
    for polygon in polygons_of(shapely.simplify(shape, SIMPLIFY_MM, preserve_topology=False)):
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.round(shapely.get_coordinates(ring)[:-1] * (1, -1), 2) + 0.0
            words.append("M" + "L".join(f"{x:g} {y:g}" for x, y in points.tolist()) + "Z")
    return "".join(words)


def _spread(places: Sequence[tuple[float, float]], radius: float) -> list[tuple[float, float]]:
    """Move marks aside, ever farther round their place, until none covers another's mark or place."""
    spots: list[tuple[float, float]] = []
    turns = 2 * np.pi * (np.arange(_TRIES) + 0.5) / _TRIES
    round_about = np.stack((np.cos(turns), np.sin(turns)), axis=1)
    around = radius * np.concatenate([ring * round_about for ring in np.linspace(2.0, 5.0, 4)])
    for n, place in enumerate(places):
        others = np.array([*spots, *places[:n], *places[n + 1 :]]).reshape(-1, 2)
        tries = np.array(place) + around
        apart = np.hypot(*(tries[:, None] - others).transpose(2, 0, 1))
        free = np.flatnonzero((apart > 2.15 * radius).all(axis=1))
        x, y = tries[free[0] if len(free) else 0]
        spots.append((float(x), float(y)))
    return spots


def _mark(mark: Mark, spot: tuple[float, float], radius: float) -> Markup:
    """Draw a mark beside its place with a line to it."""
    x, y = spot
    px, py = mark.at_mm[0], -mark.at_mm[1]
    ends = {"x1": f"{px:.2f}", "y1": f"{py:.2f}", "x2": f"{x:.2f}", "y2": f"{y:.2f}"}
    thin = radius * 0.14
    halo = el("line", **ends, stroke="#ffffff", stroke_width=f"{thin * 3:.3f}")
    line = el("line", **ends, stroke=to_hex(INK), stroke_width=f"{thin:.3f}")
    dot = _dot(px, py, radius * 0.28)
    look = {"fill": "#ffffff", "stroke": to_hex(INK), "stroke_width": f"{thin * 1.6:.3f}"}
    side = radius * 0.9
    body = (
        el("circle", cx=ends["x2"], cy=ends["y2"], r=f"{radius:.3f}", **look)
        if mark.round
        else el(
            "rect",
            x=f"{x - side:.2f}",
            y=f"{y - side:.2f}",
            width=f"{2 * side:.3f}",
            height=f"{2 * side:.3f}",
            **look,
        )
    )
    words = el(
        "text",
        mark.text,
        x=ends["x2"],
        y=f"{y + radius * 0.42:.2f}",
        font_size=f"{radius * (1.2 if len(mark.text) < 2 else 0.95):.3f}",
        text_anchor="middle",
        cls="mark",
    )
    return join(halo, line, dot, body, words)


def _dot(x: float, y: float, radius: float) -> Markup:
    rim = {"stroke": "#ffffff", "stroke_width": f"{radius * 0.5:.3f}"}
    return el("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.3f}", fill=to_hex(INK), **rim)
