"""The artwork's areas as a drawing with their numbers, by which marks in a recipe name them."""

from __future__ import annotations

from ...colorimetry import to_hex
from ...findings import count_words
from ...model import FlatAreas
from ..canvas import INK
from ..html import Markup, el
from .planview import path_of

__all__ = ["numbered_areas"]

_ROOM = (1.5, 1.1)
"""Size of a number by the radius of the circle that it stands in: of one digit, of more."""
_MOST_SHARE = 0.03
"""Size of a number at most, by the longest side of the artwork."""


def numbered_areas(areas: FlatAreas) -> Markup:
    """Draw the areas in their colors, each number in the widest place of its area: to look at close up."""
    width, height = areas.size_mm
    most = _MOST_SHARE * max(width, height)
    texts = []
    for number, area in enumerate(areas.numbered, start=1):
        size = min(area.radius_mm * _ROOM[number > 9], most)
        x, y = area.at_mm[0], 0.36 * size - area.at_mm[1]
        halo = {"stroke": "#ffffff", "stroke_width": f"{0.3 * size:.3f}"}
        texts.append(el("text", str(number), x=f"{x:.3f}", y=f"{y:.3f}", font_size=f"{size:.3f}", **halo))
    shapes = [
        el("path", d=path_of(shape), fill=to_hex(color), fill_rule="evenodd")
        for color, shape in zip(areas.colors, areas.polygons, strict=True)
    ]
    box = (-width / 2 - most, -height / 2 - most, width + 2 * most, height + 2 * most)
    look = {"text_anchor": "middle", "paint_order": "stroke", "fill": to_hex(INK), "font_weight": "700"}
    return el(
        "svg",
        el("title", f"The artwork by number: {count_words(len(areas.numbered), 'area')}"),
        *shapes,
        el("g", *texts, **look),
        viewBox=" ".join(f"{value:.2f}" for value in box),
        cls="plan",
        role="img",
    )
