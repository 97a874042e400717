"""The colors of one job as documents show them: number, name, hex, heights and layers of each part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..colorimetry import color_word, to_hex
from ..model import Result
from ..model.arrays import Color

__all__ = ["LegendEntry", "legend"]

Z_TOLERANCE_MM = 1e-4
"""How exactly a layer's top is met: a tenth of the grid step."""


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One part as the documents name it.

    Parameters
    ----------
    number : int
        1 for the base, then upward in filament order; also chooses the hatch.
    name, role : str
        As the part has them.
    color : (int, int, int)
        sRGB.
    z_mm : (float, float)
        Underside and top.
    layers : (int, int)
        First and last 1-based layer that prints it; (0, 0) where it lies on no layer.
    spool : str
        Name of the filament that the part was matched to, where the recipe names a stock.
    """

    number: int
    name: str
    role: str
    color: Color
    z_mm: tuple[float, float]
    layers: tuple[int, int]
    spool: str = ""

    @property
    def hex(self) -> str:
        """The color as "#rrggbb"."""
        return to_hex(self.color)

    @property
    def filament(self) -> str:
        """The filament in a word: a motif's name, of the base its color."""
        return color_word(self.color) if self.role == "base" else self.name

    @property
    def title(self) -> str:
        """The name with a color word in it: "base (navy)" or "red"."""
        return f"{self.name} ({color_word(self.color)})" if self.role == "base" else self.name


def legend(result: Result) -> tuple[LegendEntry, ...]:
    """List the parts of a job with their numbers, in the order of the parts."""
    entries = []
    for number, part in enumerate(result.parts, start=1):
        heights = part.vertices[:, 2]
        z_mm = (float(heights.min()), float(heights.max()))
        layers = _layers(z_mm, result.stack.layer_tops_mm)
        match = result.matching.of(part.name) if result.matching.asked else None
        spool = match.filament.name if match and match.filament else ""
        entries.append(LegendEntry(number, part.name, part.role, part.color, z_mm, layers, spool))
    return tuple(entries)


def _layers(z_mm: tuple[float, float], tops_mm: tuple[float, ...]) -> tuple[int, int]:
    """Return the 1-based layers whose material lies between two heights."""
    tops = np.asarray(tops_mm, dtype=np.float64)
    first = int(np.searchsorted(tops, z_mm[0] + Z_TOLERANCE_MM)) + 1
    last = int(np.searchsorted(tops, z_mm[1] - Z_TOLERANCE_MM)) + 1
    count = len(tops)
    return (first, min(last, count)) if first <= count else (0, 0)
