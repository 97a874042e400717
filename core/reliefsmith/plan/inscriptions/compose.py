"""Texts of the recipe set in mm: at a point, on an arc, in a box, or in a free area as large as it goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TypeVar

import numpy as np
import shapely

from ...errors import GeometryError
from ...model import FontFile
from ...polygons import as_multi, polygons_of, snapped
from ...recipe.sections import Inscription
from ...recipe.sections.limits import USUAL_CAPITALS_MM
from ...typeset.along import Arc, Line, Path, share_before
from ...typeset.fonts import Face, face_of
from ...typeset.lines import LINE_BREAK, set_lines
from ...typeset.shaping import plain_text
from ...typeset.standing import AsPrinted, Type, as_drawn
from ...typeset.textfit import Fit, hull_of, largest_fit, thinned
from ..strokes.leastwidths import Limits
from .printable import Mending

__all__ = ["LEAST_SIZE_MM", "Composed", "Composer", "turned_shape"]

LEAST_SIZE_MM = 1.5
"""Height of capitals below which no nozzle writes: a text that fits at no larger size does not fit (common
practice, no source)."""

Shape = TypeVar("Shape", bound=shapely.Geometry)

_HUGE_MM = 1000.0
"""Height of capitals beside which the gaps between letters, parts of a mm, are next to nothing."""

_SHARES = (1.0, 0.95, 0.9, 0.8, 0.7, 0.5)
"""A text as printed is tried at its size as drawn, then at such shares of the size before (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class Composed:
    """Letters as printed, on the grid, the height of their capitals, and where they stand, in mm.

    At `at_mm`, with their middle there, they stand as they do.
    """

    letters: shapely.MultiPolygon
    size_mm: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Composer:
    """Sets one text of the recipe.

    Parameters
    ----------
    number : int
        Of its table, from 1.
    inscription : Inscription
    font : FontFile
    limits : Limits
    """

    number: int
    inscription: Inscription
    font: FontFile
    limits: Limits

    @property
    def is_mirrored(self) -> bool:
        """Whether it reads from behind, or where it is stamped."""
        return self.inscription.mirror or self.inscription.place == "back"

    @property
    def box(self) -> shapely.Polygon | None:
        """The box that it fills, turned as it is, if it has one."""
        if self.inscription.box_mm is None:
            return None
        left, low, width, height = self.inscription.box_mm
        level = shapely.box(-width / 2, -height / 2, width / 2, height / 2)
        turned = turned_shape(level, self.inscription.turn_deg, mirrored=self.is_mirrored)
        middle = np.array((left + width / 2, low + height / 2))
        return shapely.transform(turned, lambda points: points + middle)

    @property
    def name(self) -> str:
        """What messages call it: words may be names, which belong to those who bear them."""
        return f"text {self.number}"

    @property
    def face(self) -> Face:
        """Its font's face."""
        return face_of(self.font)

    @property
    def text(self) -> str:
        """What is set."""
        return plain_text(self.inscription.text)

    def mending(self, size: float, *, fitted: bool) -> Mending:
        """Return what makes its letters printable at a size that was found, or given."""
        return Mending.fitted(self.limits, size) if fitted else Mending(self.limits)

    def type_of(self, size: float, made: AsPrinted) -> Type:
        """Return how its letters are set at a size; touching ones a quarter of a stroke in one another."""
        overlap = self.limits.stroke / 4 if self.inscription.letters == "touching" else 0.0
        return Type(self.face, size, self.limits.gap, made, overlap)

    def given(self) -> Composed:
        """Set it at its point or in its box.

        Raises
        ------
        GeometryError
            If it does not fit into its box at any size.
        """
        item = self.inscription
        if item.box_mm is not None:
            left, low, width, height = item.box_mm
            level = replace(self, inscription=replace(item, turn_deg=0.0, place="front", mirror=False))
            made = level.within(shapely.box(-width / 2, -height / 2, width / 2, height / 2), "its box")
            turned = turned_shape(made.letters, item.turn_deg, mirrored=self.is_mirrored)
            middle = (left + width / 2, low + height / 2)
            at = turned_shape(shapely.Point(made.at_mm), item.turn_deg, mirrored=self.is_mirrored)
            return Composed(_placed(turned, middle), made.size_mm, (at.x + middle[0], at.y + middle[1]))
        assert item.at_mm is not None
        return self._at(item.size_mm or USUAL_CAPITALS_MM, item.at_mm)

    def inside(self, room: shapely.Geometry) -> Composed:
        """Set it on the back: at its point or in its box if that lies in the room, else as large as it goes.

        Raises
        ------
        GeometryError
            If it does not fit.
        """
        item = self.inscription
        if item.at_mm is None and item.box_mm is None:
            return self.largest(polygons_of(room))
        made = self.given()
        if not shapely.covers(room, made.letters):
            over = shapely.difference(made.letters, room).representative_point()
            raise GeometryError(
                f"{self.name} on the back comes too near to an edge, a hole or a pocket near"
                f" ({over.x:.1f}, {over.y:.1f}) mm; move it, make it smaller, or give no place to fit it"
            )
        return made

    def largest(self, rooms: list[shapely.Polygon]) -> Composed:
        """Set it in the room that takes it largest.

        Raises
        ------
        GeometryError
            If it fits into none.
        """
        made: list[Composed] = []
        failed = ""
        for room in rooms:
            try:
                made.append(self.within(room, "the free area"))
            except GeometryError as error:
                failed = failed or str(error)
        if not made:
            raise GeometryError(failed or f"there is no free area for {self.name}; print the piece larger")
        return max(made, key=lambda item: item.size_mm)

    def within(self, room: shapely.Polygon, what: str) -> Composed:
        """Set it in a room: at its size, else as large as it goes.

        Raises
        ------
        GeometryError
            If it does not fit; `what` names the room.
        """
        size = self.inscription.size_mm
        rooms = thinned(room) if self.inscription.box_mm is None else [room]
        least, high = (size, size) if size else (LEAST_SIZE_MM, max(self._most(rooms), LEAST_SIZE_MM))
        hull_as_printed = cache(self._hull_as_printed)
        drawn = _best(rooms, cache(self._hull_as_drawn), least, high)
        high = drawn.size_mm if drawn else least
        for share in _SHARES if drawn else ():  # repair makes letters larger: find what they need
            low = max(share * high, least)
            fit = _best(rooms, hull_as_printed, low, high)
            made = self._at(fit.size_mm, fit.at_mm, fitted=size is None) if fit else None
            if made is not None and shapely.covers(room, made.letters):
                return self._pushed(made, room)
            high = low
        raise GeometryError(
            f"{self.name} does not fit into {what} with capitals of {least:g} mm; shorten it,"
            f" {'take a smaller size_mm' if size else 'give it more room'}, or print the piece larger"
        )

    def _pushed(self, made: Composed, room: shapely.Polygon) -> Composed:
        """Push a text to the side of its box that it is aligned with, halfway up."""
        item = self.inscription
        if item.box_mm is None:
            return made
        spare = np.subtract(room.bounds, made.letters.bounds).reshape(2, 2)  # at its left and right
        share = np.array((share_before(item.align), 0.5))
        away = spare[0] + share * (spare[1] - spare[0])
        moved = shapely.transform(made.letters, lambda points: snapped(points + away))
        x, y = np.add(made.at_mm, away).tolist()
        return Composed(as_multi(moved), made.size_mm, (x, y))

    def _hull_as_drawn(self, height: float) -> shapely.Polygon:
        return hull_of(self._set(height, fitted=True, as_printed=False))

    def _hull_as_printed(self, height: float) -> shapely.Polygon:
        fitted = self.inscription.size_mm is None
        return hull_of(self._set(height, fitted=fitted, as_printed=True))

    def _most(self, rooms: list[shapely.Polygon]) -> float:
        """Return a size that is too large for all rooms: gaps add least to a text that is huge.

        Letters that touch give up the more of their length the smaller they are.
        """
        reach = max((math.dist(room.bounds[:2], room.bounds[2:]) for room in rooms), default=0.0)
        reach += self.type_of(_HUGE_MM, as_drawn).overlap_mm * len(self.text)
        left, low, right, high = self._set(_HUGE_MM, fitted=True, as_printed=False).bounds
        return float(1.01 * reach * _HUGE_MM / max(right - left, high - low))

    def _at(self, size: float, at: tuple[float, float], *, fitted: bool = False) -> Composed:
        letters = self._set(size, fitted=fitted, as_printed=True)
        return Composed(_placed(letters, at), size, at)

    def _set(self, size: float, *, fitted: bool, as_printed: bool) -> shapely.MultiPolygon:
        """Return the letters round their anchor, turned."""
        item = self.inscription
        made = self.mending(size, fitted=fitted) if as_printed else as_drawn
        path: Path = Line(size)
        if item.arc_mm is not None:
            path = Arc(abs(item.arc_mm), size, item.arc_mm < 0)
        free = item.at_mm is None and LINE_BREAK not in self.text
        align = "center" if free else item.align
        letters = set_lines(self.text, self.type_of(size, made), path, align)
        return turned_shape(letters, item.turn_deg, mirrored=self.is_mirrored)


def _placed(shape: shapely.MultiPolygon, at: tuple[float, float]) -> shapely.MultiPolygon:
    return as_multi(shapely.transform(shape, lambda points: snapped(points + np.array(at))))


def turned_shape(shape: Shape, turn_deg: float, *, mirrored: bool) -> Shape:
    """Turn a shape about the origin; then, where it is to read from behind, mirror it."""
    angle = math.radians(turn_deg)
    matrix = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    if mirrored:
        matrix = matrix @ np.diag([-1.0, 1.0])
    found: Shape = shapely.transform(shape, lambda points: points @ matrix)
    return found


def _best(
    rooms: Sequence[shapely.Polygon], hull_at: Callable[[float], shapely.Polygon], low: float, high: float
) -> Fit | None:
    """Return the largest fit of hulls between two sizes into one of several rooms."""
    fits = (largest_fit(room, hull_at, low, high) for room in rooms)
    return max((fit for fit in fits if fit is not None), key=lambda fit: fit.size_mm, default=None)
