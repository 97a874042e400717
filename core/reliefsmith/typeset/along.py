"""Letters set along a line or an arc, apart by the gap that prints; joined scripts stay joined."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol
from unicodedata import bidirectional

import numpy as np
import shapely

from ..errors import RecipeError
from ..polygons import as_multi, merged, polygons_of
from .shaping import Letter, shaped
from .standing import Type, Unit, as_drawn, letter_mm, moved, standing, units_of

__all__ = ["Arc", "Line", "Path", "set_along", "share_before"]

_SEEN_BACK = 3
"""A letter is held apart from so many before it: an accent or a tail may reach over one or two neighbors
(common practice, no source)."""

_ROUNDS = 60
"""Steps by which a letter is moved on, at most. With the shipped fonts, capitals of 1.5 to 12 mm, a line took
19 and an arc 25; more only texts that are longer than their circle, which are refused."""

_TOUCHING_MM = 1e-3
"""Nearer letters touch: the grid of all coordinates."""

_NEAR_MM = 1e-4
"""Added to each step, so that rounding leaves no gap short: a tenth of the grid."""


class Path(Protocol):
    """Along which letters stand."""

    @property
    def is_bent(self) -> bool:
        """Whether letters are turned against each other."""

    def placed(self, shape: shapely.MultiPolygon, at_mm: float, middle_mm: float) -> shapely.MultiPolygon:
        """Return a letter, drawn from its own start, whose start lies so far along the path.

        Parameters
        ----------
        shape : MultiPolygon
        at_mm : float
        middle_mm : float
            Half its advance: the letter is turned with the path there.
        """

    def aligned(
        self, shape: shapely.MultiPolygon, span_mm: tuple[float, float], align: str
    ) -> shapely.MultiPolygon:
        """Return what was set between two places of the path with its left, center or right at the anchor."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line; its anchor is the origin, halfway up the capitals."""

    size_mm: float
    is_bent: bool = False

    def placed(self, shape: shapely.MultiPolygon, at_mm: float, middle_mm: float) -> shapely.MultiPolygon:
        """Move a letter along the line."""
        del middle_mm
        return moved(shape, at_mm, 0.0)

    def aligned(
        self, shape: shapely.MultiPolygon, span_mm: tuple[float, float], align: str
    ) -> shapely.MultiPolygon:
        """Move the ink to the anchor."""
        del span_mm
        left, _, right, _ = shape.bounds
        return moved(shape, -share_before(align) * (right - left) - left, -self.size_mm / 2)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circle round the origin on which letters stand: over its top, or inside along its bottom.

    At the bottom the feet of the letters are on the circle and their heads lean together, so advances are
    measured halfway up the capitals; at the top on the circle itself.
    """

    radius_mm: float
    size_mm: float
    is_below: bool
    is_bent: bool = True

    @property
    def _measured_mm(self) -> float:
        return self.radius_mm - self.size_mm / 2 if self.is_below else self.radius_mm

    def placed(self, shape: shapely.MultiPolygon, at_mm: float, middle_mm: float) -> shapely.MultiPolygon:
        """Set a letter on the circle and turn it with it, as stiff as it is."""
        up = -self.radius_mm if self.is_below else self.radius_mm
        return self._turned(moved(shape, -middle_mm, up), at_mm + middle_mm)

    def aligned(
        self, shape: shapely.MultiPolygon, span_mm: tuple[float, float], align: str
    ) -> shapely.MultiPolygon:
        """Turn the whole along the circle, to its top or bottom."""
        start, end = span_mm
        if end - start > 2 * math.pi * self._measured_mm:
            raise RecipeError(
                f"the text is longer than the circle of its arc; take a radius of more than"
                f" {(end - start) / (2 * math.pi):.0f} mm or a smaller size_mm"
            )
        return self._turned(shape, -start - share_before(align) * (end - start))

    def _turned(self, shape: shapely.MultiPolygon, along_mm: float) -> shapely.MultiPolygon:
        turn = along_mm / self._measured_mm
        angle = turn if self.is_below else -turn
        cos, sin = math.cos(angle), math.sin(angle)
        matrix = np.array([[cos, sin], [-sin, cos]])
        found: shapely.MultiPolygon = shapely.transform(shape, lambda points: points @ matrix)
        return found


def set_along(text: str, how: Type, path: Path, align: str = "center") -> shapely.MultiPolygon:
    """Set a text along a path, in mm.

    Letters that the font joins (a script's, or by design) stay joined. All others are moved on until they
    stand `gap_mm` apart, as printed: a bold face has less between some pairs at the sizes of a keyring. What
    is added belongs to the pair; kerning of the font is kept where it leaves enough.

    Parameters
    ----------
    text : str
        As `plain_text` gives it.
    how : Type
    path : Path
    align : str
        "left", "center" or "right" of the text lies at the anchor of the path.

    Raises
    ------
    RecipeError
        If a glyph is missing, an arc breaks letters that the font joins, or a text is longer than its circle.
    """
    drawn: list[shapely.MultiPolygon] = []
    pen = 0.0
    for unit in _units(shaped(how.face, text), how, path):
        shape, at = _apart(unit, how, path, pen, drawn[-_SEEN_BACK:])
        if not shape.is_empty:
            drawn.append(shape)
        pen = at + unit.advance
    if not drawn:
        raise RecipeError(f"the font {how.face.title} draws nothing for this text; take another font")
    whole = as_multi([piece for shape in drawn for piece in shape.geoms])
    return path.aligned(whole, (0.0, pen), align)


def _units(letters: Sequence[Letter], how: Type, path: Path) -> list[Unit]:
    """Return letters that the font joins, or whole words where letters are to touch."""
    if not how.overlap_mm:
        return units_of(letters, how)
    return [_touching(word, how, path) for word in _words(letters, how)]


def _words(letters: Sequence[Letter], how: Type) -> list[tuple[Letter, ...]]:
    """Group the letters between spaces; each space is one by itself."""
    words: list[tuple[Letter, ...]] = []
    inside = False
    for letter in letters:
        shown = not letter_mm(letter, how.face, how.scale).is_empty
        if shown and inside:
            words[-1] += (letter,)
        else:
            words.append((letter,))
        inside = shown
    return words


def _touching(word: tuple[Letter, ...], how: Type, path: Path) -> Unit:
    """Set each letter of a word back until it touches the one before, and by the overlap into it.

    A letter that meets nothing on its way, as a point over a low letter, stays where the font puts it.
    """
    group: list[tuple[Letter, float]] = []
    pen, before = 0.0, shapely.MultiPolygon()
    for letter in word:
        shape, middle = letter_mm(letter, how.face, how.scale), letter.advance * how.scale / 2
        at = pen
        while group and at > group[-1][1]:
            apart = float(shapely.distance(before, path.placed(shape, at, middle)))
            if apart < _TOUCHING_MM:
                pen = at if at == pen else at - how.overlap_mm
                break
            at -= apart
        group.append((letter, pen))
        before = path.placed(shape, pen, middle)
        pen += letter.advance * how.scale
    return Unit(tuple(group), pen)


def _apart(
    unit: Unit, how: Type, path: Path, pen: float, before: Sequence[shapely.MultiPolygon]
) -> tuple[shapely.MultiPolygon, float]:
    """Place a unit as near to the pen as the gap to those before it allows."""
    shape = _placed(unit, how, path, pen)
    if shape.is_empty or not before:
        return shape, pen
    for _ in range(_ROUNDS):
        close = [other for other in before if shapely.dwithin(shape, other, how.gap_mm)]
        if not close:  # few letters are: this is far quicker than to measure how far
            break
        lacking = how.gap_mm - min(shapely.distance(shape, other) for other in close)
        if lacking <= 0:
            break
        pen += lacking + _NEAR_MM
        shape = _placed(unit, how, path, pen)
    return shape, pen


def _placed(unit: Unit, how: Type, path: Path, pen: float) -> shapely.MultiPolygon:
    """Return a unit as printed, at a place along the path."""
    if len(unit.letters) == 1 or not path.is_bent:
        return path.placed(standing(unit.letters, how), pen, unit.advance / 2)
    straight = standing(unit.letters, replace(how, as_printed=as_drawn))
    shapes = [(letter_mm(letter, how.face, how.scale), start, letter) for letter, start in unit.letters]
    bent = merged(
        [path.placed(shape, pen + start, letter.advance * how.scale / 2) for shape, start, letter in shapes]
    )
    if not how.overlap_mm and len(polygons_of(bent)) != len(polygons_of(straight)):
        said = "".join(_in_reading_order(letter.characters for letter, _ in unit.letters))
        raise RecipeError(
            f"the joined letters of {said!r} break on this arc; take a larger radius, or set them on a line"
        )
    return how.as_printed(bent)


def _in_reading_order(shown: Iterable[str]) -> list[str]:
    """Return the letters of a unit, which stand from left to right, as they are read."""
    letters = list(shown)
    backward = any(bidirectional(letter[0]) in {"R", "AL"} for letter in letters)
    return letters[::-1] if backward else letters


def share_before(align: str) -> float:
    """Return which share of a text's length lies before its anchor.

    Examples
    --------
    >>> share_before("center")
    0.5
    """
    return {"left": 0.0, "center": 0.5, "right": 1.0}[align]
