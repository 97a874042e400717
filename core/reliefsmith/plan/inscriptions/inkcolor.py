"""The color of a text: one that is given, else that of the piece's which is seen best where it stands."""

from __future__ import annotations

import numpy as np
import shapely

from ...colorimetry import ciede2000, parse_hex, srgb_to_lab, to_hex
from ...colorimetry.difference import SAME_COLOR, differences
from ...colorimetry.spaces import Floats
from ...errors import GeometryError
from ...model import Plan, SetText
from ...model.arrays import Color
from ...recipe.sections.limits import MOST_COLORS

__all__ = ["color_behind", "color_for", "colors_under"]

_UNSEEN_SHARE = 0.5
"""A text that stands on its own color with more than this share of its letters' area is refused: less than
half of it would be seen."""


def colors_under(plan: Plan, made: SetText) -> list[tuple[Color, float]]:
    """Return the colors that the piece shows where a text is to stand, and under which share of it."""
    shapely.prepare([item.polygon for item in plan.motifs])
    motifs = [
        (item.color, float(item.polygon.intersection(made.letters).area))
        if item.polygon.intersects(made.letters)
        else (item.color, 0.0)
        for item in plan.motifs
    ]
    bare = made.letters.area - sum(area for _, area in motifs)
    return [(color, area / made.letters.area) for color, area in ((plan.base_color, bare), *motifs)]


def color_for(plan: Plan, made: SetText, asked: str) -> Color:
    """Return the color of a text: one of the piece's where it has it, for that takes no filament more.

    Parameters
    ----------
    plan : Plan
    made : SetText
    asked : str
        "auto" or "#rrggbb".

    Raises
    ------
    GeometryError
        If it would not be seen, or would be one color too many.
    """
    own = [plan.base_color, *(motif.color for motif in plan.motifs)]
    labs = _labs(own)
    under = colors_under(plan, made)
    if asked == "auto":
        shares = np.array([share for _, share in under])
        gaps = ciede2000(labs[:, None, :], _labs([color for color, _ in under])[None, :, :])
        contrast = gaps @ shares
        best = int(np.argmax(contrast))
        if contrast[best] < SAME_COLOR:
            raise GeometryError(
                f"text {made.number} stands on the only color that the piece has; give lettering a color"
            )
        return own[best]
    color = _one_of(own, asked, made.number)
    if color in own and under[own.index(color)][1] > _UNSEEN_SHARE:
        raise GeometryError(
            f"text {made.number} has the color that it stands on, {to_hex(color)}, and would not"
            " be seen; give it another color, or leave color out"
        )
    return color


def color_behind(plan: Plan, made: SetText, asked: str) -> Color | None:
    """Return the color that a text of the back is laid in: one of the piece's where that is alike.

    Parameters
    ----------
    plan : Plan
    made : SetText
    asked : str
        "#rrggbb", or "auto" for a text that is only cut in.

    Raises
    ------
    GeometryError
        If it would not be seen, or would be one color too many.
    """
    if asked == "auto":
        return None
    own = [plan.base_color, *dict.fromkeys((*(item.color for item in plan.motifs), *plan.inlaid_colors))]
    color = _one_of(own, asked, made.number)
    if color == plan.base_color:
        raise GeometryError(
            f"text {made.number} has the base's color, {to_hex(color)}, and would not be seen; give it"
            " another color, or leave color out"
        )
    return color


def _one_of(own: list[Color], asked: str, number: int) -> Color:
    """Return one of the piece's colors, the base's first, that a text's color is alike, else that color."""
    color = parse_hex(asked)
    gaps = differences(color, own)
    nearest = int(np.argmin(gaps))
    if gaps[nearest] < SAME_COLOR:
        return own[nearest]
    if len(own) > MOST_COLORS:
        raise GeometryError(
            f"text {number} would make more than {MOST_COLORS} colors; give it one of the piece's"
        )
    return color


def _labs(colors: list[Color]) -> Floats:
    return srgb_to_lab(np.array(colors, dtype=np.uint8))
