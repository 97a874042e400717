"""Letters as they stand by themselves, in mm: those that the font joins together, mended or as drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from typing import TypeAlias

import numpy as np
import shapely

from ..polygons import merged
from .fonts import Face
from .glyphs import tolerance_for
from .shaping import Letter, shaped

__all__ = [
    "AsPrinted",
    "Type",
    "Unit",
    "as_drawn",
    "drawn_letters",
    "letter_mm",
    "moved",
    "standing",
    "units_of",
]

AsPrinted: TypeAlias = Callable[[shapely.MultiPolygon], shapely.MultiPolygon]
"""Takes the outline of a letter in mm to what is printed of it; equal ones (hashable) do the same."""

_JOINED_AT_MM = 5.0
"""Height of capitals at which letters are asked whether they touch, for the flattening of their outlines."""


def as_drawn(shape: shapely.MultiPolygon) -> shapely.MultiPolygon:
    """Leave a letter as the font draws it."""
    return shape


@dataclass(frozen=True, slots=True)
class Type:
    """How letters are set.

    Parameters
    ----------
    face : Face
    size_mm : float
        Height of the capitals.
    gap_mm : float
        How far letters that are not joined stand apart at least.
    as_printed : callable
    overlap_mm : float
        How far the letters of a word are set into one another, so that it is one shape; 0 leaves them apart.
    """

    face: Face
    size_mm: float
    gap_mm: float
    as_printed: AsPrinted = as_drawn
    overlap_mm: float = 0.0

    @property
    def scale(self) -> float:
        """Millimetres of a unit of the font."""
        return self.size_mm / self.face.cap


@dataclass(frozen=True, slots=True)
class Unit:
    """Letters that are joined, each with its start in mm."""

    letters: tuple[tuple[Letter, float], ...]
    advance: float


def drawn_letters(text: str, how: Type) -> list[shapely.MultiPolygon]:
    """Return the letters of a text as printed, each once, from their own starts; joined ones together."""
    units = dict.fromkeys(unit.letters for unit in units_of(shaped(how.face, text), how))
    return [shape for shape in (standing(letters, how) for letters in units) if not shape.is_empty]


@lru_cache(maxsize=8192)
def standing(letters: tuple[tuple[Letter, float], ...], how: Type) -> shapely.MultiPolygon:
    """Return letters that are joined as printed, on a straight line from their own start."""
    shapes = [moved(letter_mm(letter, how.face, how.scale), start, 0.0) for letter, start in letters]
    drawn = merged([shape for shape in shapes if not shape.is_empty])
    return drawn if drawn.is_empty else how.as_printed(drawn)


def units_of(letters: Sequence[Letter], how: Type) -> list[Unit]:
    """Give letters that the font joins their starts and advances in mm."""
    found, rest = [], iter(letters)
    for count in _joined(tuple(letters), how.face):
        group: list[tuple[Letter, float]] = []
        pen = 0.0
        for letter in islice(rest, count):
            group.append((letter, pen))
            pen += letter.advance * how.scale
        found.append(Unit(tuple(group), pen))
    return found


@lru_cache(maxsize=1024)
def _joined(letters: tuple[Letter, ...], face: Face) -> tuple[int, ...]:
    """Count the letters of each group that touch where the font puts them, which no size changes."""
    counts: list[int] = []
    scale = _JOINED_AT_MM / face.cap
    before, start = shapely.MultiPolygon(), 0.0
    for letter in letters:
        here = moved(letter_mm(letter, face, scale), start, 0.0)
        if shapely.intersects(before, here):
            counts[-1] += 1
        else:
            counts.append(1)
        before = here
        start += letter.advance * scale
    return tuple(counts)


@lru_cache(maxsize=8192)
def letter_mm(letter: Letter, face: Face, scale: float) -> shapely.MultiPolygon:
    """Return the outline of a letter in mm."""
    drawn = letter.shape(face, tolerance_for(1 / scale))
    found: shapely.MultiPolygon = shapely.transform(drawn, lambda points: points * scale)
    return found


def moved(shape: shapely.MultiPolygon, x: float, y: float) -> shapely.MultiPolygon:
    """Return a shape moved by so much, in mm."""
    found: shapely.MultiPolygon = shapely.transform(shape, lambda points: points + np.array((x, y)))
    return found
