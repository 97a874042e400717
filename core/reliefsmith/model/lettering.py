"""Lines of letters on a piece: where they are, how fine, and from which size on they print."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from ..findings import Finding
from .arrays import Color

__all__ = ["LetterLine", "Lettering"]

_SURE = 1.03
"""Strokes come out anew at another size, by so much finer at times than they were measured."""


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One line of letters, straight or along an arc.

    Parameters
    ----------
    count : int
        Letters found; dots and strokes apart are not counted.
    color : (int, int, int) or None
        Of the letters; None where they are openings.
    ground : (int, int, int) or None
        What lies round them; None where that is no part of the art.
    at_mm : (float, float)
        Middle of the middle letter.
    places_mm : tuple of (float, float)
        A point in each of its pieces, dots too.
    outline : Polygon
        Holds the line and little else; at most as many corners as a mark takes.
    height_mm : float
        Median height of its letters: that of capitals, or near the x-height where most are small letters.
    stroke_mm, gap_mm : float
        How wide its strokes are, and the gaps in and between its letters.
    least_mm : (float, float)
        What both must be to print. Where the letters show the base, their strokes are gaps of the motif.
    shown : bool
        False where they are openings that a base of their ground's color fills: then no size helps.
    """

    count: int
    color: Color | None
    ground: Color | None
    at_mm: tuple[float, float]
    places_mm: tuple[tuple[float, float], ...]
    outline: shapely.Polygon
    height_mm: float
    stroke_mm: float
    gap_mm: float
    least_mm: tuple[float, float]
    shown: bool = True

    @property
    def prints(self) -> bool:
        """Whether it prints as drawn."""
        return self.shown and self.needs <= 1

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, lower, right and upper end."""
        left, low, right, high = self.outline.bounds
        return left, low, right, high

    @property
    def needs(self) -> float:
        """How many times as large it must be to print."""
        return max(self.least_mm[0] / self.stroke_mm, self.least_mm[1] / self.gap_mm)

    @property
    def enough(self) -> float:
        """How many times as large it surely prints."""
        return _SURE * self.needs


@dataclass(frozen=True, slots=True)
class Lettering:
    """The lines of letters of a piece, the longest first, and findings on those that would not print."""

    lines: tuple[LetterLine, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def lost(self) -> tuple[LetterLine, ...]:
        """The lines that would not print at this size, but would at a larger one."""
        return tuple(line for line in self.lines if line.shown and not line.prints)
