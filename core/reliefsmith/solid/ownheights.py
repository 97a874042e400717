"""Heights that the recipe gives to single colors."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..colorimetry import parse_hex
from ..colorimetry.difference import differences
from ..findings import Finding, finding
from ..model.arrays import Color
from ..recipe.sections import HeightSettings

__all__ = ["nearest_color", "own_heights"]

MATCH = 12.0
"""CIEDE2000 within which a color that the user names is one of the motifs'."""


def own_heights(heights: HeightSettings, colors: Sequence[Color]) -> tuple[list[float], tuple[Finding, ...]]:
    """Return the height asked for each motif color in mm, and a finding for each color that none has.

    Examples
    --------
    >>> own_heights(HeightSettings(colors=({"color": "#d22020", "height_mm": 1.2},)), [(211, 32, 32)])
    ([1.2], ())
    """
    result = [heights.motif_mm] * len(colors)
    found = []
    for row in heights.colors:
        nearest = nearest_color(row.color, colors)
        if nearest is None:
            words = f"heights.colors names {row.color}, which is the color of no motif"
            found.append(finding("color-unmatched", words))
        else:
            result[nearest] = row.height_mm
    return result, tuple(found)


def nearest_color(text: str, colors: Sequence[Color]) -> int | None:
    """Return which color is meant by one of the recipe, None where none is near it.

    Examples
    --------
    >>> nearest_color("#d22020", [(30, 90, 200), (211, 32, 32)])
    1
    """
    if not colors:
        return None
    gaps = differences(parse_hex(text), colors)
    best = int(np.argmin(gaps))
    return best if float(gaps[best]) < MATCH else None
