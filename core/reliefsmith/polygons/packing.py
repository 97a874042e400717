"""Outlines laid onto beds: bottom-left on a raster, so that the spacing holds by construction.

A cell is taken if an outline comes nearer to it than half the spacing. So where no cell is taken twice, no
two outlines are nearer than the spacing. All positions that are free for an outline come from one product of
spectra: the correlation of the bed with the outline counts the cells that both take, in whole numbers that
rounding does not reach, so every machine finds the same ones. An outline goes to the lowest position, of
these the leftmost, as in bottom-left packing (Baker, Coffman and Rivest, SIAM J. Comput. 9(4), 846-855, 1980,
of rectangles; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

import numpy as np
import shapely
from shapely import affinity

from ..model.arrays import Flags
from .cells import Raster, Shape, Spectrum, Turned

__all__ = ["Packer", "Packing", "Placed", "least_gap_mm", "pack", "placed_shape"]

_SHARED = 0.5
"""Counts of shared cells are whole numbers; below half of one there are none."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where an outline lies.

    Parameters
    ----------
    index : int
        Which of the outlines.
    bed : int
        From 0.
    turn_deg : float
        Counter-clockwise, about the origin of its coordinates.
    at_mm : (float, float)
        Where that origin lies then; (0, 0) is the front left corner of the bed.
    """

    index: int
    bed: int
    turn_deg: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Packing:
    """Outlines on beds.

    Parameters
    ----------
    placed : tuple of Placed
        By bed, then by index.
    left : tuple of int
        Outlines that are too large for an empty bed.
    """

    placed: tuple[Placed, ...]
    left: tuple[int, ...]

    @property
    def beds(self) -> int:
        """How many beds they take."""
        return _count(self.placed)

    def by_bed(self) -> list[tuple[Placed, ...]]:
        """Return what lies on each bed."""
        return [tuple(one for one in self.placed if one.bed == bed) for bed in range(self.beds)]


def pack(
    outlines: Sequence[shapely.Geometry],
    bed_mm: tuple[float, float],
    *,
    spacing_mm: float,
    cell_mm: float = 0.5,
    turns: int = 4,
) -> Packing:
    """Lay outlines onto beds once; see `Packer`."""
    return Packer(bed_mm, spacing_mm=spacing_mm, cell_mm=cell_mm, turns=turns).pack(outlines)


class Packer:
    """Lays outlines onto beds of one size, and remembers what it laid: equal beds are found once.

    Parameters
    ----------
    bed_mm : (float, float)
        Width and depth, up to whose edges outlines may lie.
    spacing_mm : float
        Least distance of two outlines.
    cell_mm : float
        Side of a cell: smaller ones lay more tightly, and take longer.
    turns : int
        4, or 8 with those by half a right angle.
    """

    def __init__(
        self, bed_mm: tuple[float, float], *, spacing_mm: float, cell_mm: float = 0.5, turns: int = 4
    ) -> None:
        self._raster = Raster.of(bed_mm, spacing_mm, cell_mm)
        self._turns = turns
        self._shapes: dict[bytes, Shape] = {}
        self._met: dict[tuple[int, int, int], Flags] = {}
        self._laid_before: dict[tuple[int, int, _Rule], _Spot | None] = {}
        self._states: dict[tuple[int, int, _Spot], int] = {}

    def pack(self, outlines: Sequence[shapely.Geometry]) -> Packing:
        """Lay outlines onto as few beds as nine ways of doing it find, the first of those that are alike.

        Each outline goes onto the first bed that has room for it. The ways are three orders (area, long side,
        short side, the largest first) with three rules for which turn is best (lowest top edge, lowest bottom
        edge, lowest middle).

        Parameters
        ----------
        outlines : sequence of Polygon or MultiPolygon
            Seen from above, in mm; the same bytes count as the same outline.
        """
        shapes = [self._shape(outline) for outline in outlines]
        todo = [index for index, shape in enumerate(shapes) if shape.masks]
        cells = sum(min(int(one.mask.sum()) for one in shapes[index].masks) for index in todo)
        least = math.ceil(cells / math.prod(self._raster.cells))
        best: list[Placed] = []
        ways = (tuple(sorted(todo, key=lambda index: (order(shapes[index]), index))) for order in _ORDERS)
        for ranked, rule in product(dict.fromkeys(ways), _RULES):  # one kind has one order
            found = self._laid(shapes, ranked, rule, most=_count(best) - 1 if best else len(todo))
            best = found or best
            if _count(best) == least:  # fewer beds would not hold their cells
                break
        left = tuple(index for index, shape in enumerate(shapes) if not shape.masks)
        return Packing(tuple(sorted(best, key=lambda one: (one.bed, one.index))), left)

    def _shape(self, outline: shapely.Geometry) -> Shape:
        key = shapely.to_wkb(outline)
        if key not in self._shapes:
            self._shapes[key] = self._raster.shape(len(self._shapes), outline, self._turns)
        return self._shapes[key]

    def _laid(
        self, shapes: Sequence[Shape], ranked: Sequence[int], rule: _Rule, *, most: int
    ) -> list[Placed]:
        """Lay outlines in an order, each onto the first bed that takes it; nothing if `most` are too few."""
        beds: list[_Bed] = []
        placed = []
        for index in ranked:
            for number in range(most):
                if number == len(beds):
                    beds.append(_Bed(np.zeros(self._raster.cells, dtype=np.bool_)))
                spot = self._put(beds[number], shapes[index], rule)
                if spot is not None:
                    turned = shapes[index].masks[spot.turn]
                    at = (self._mm(turned.origin_mm[0], spot.x), self._mm(turned.origin_mm[1], spot.y))
                    placed.append(Placed(index, number, turned.turn_deg, at))
                    break
            else:
                return []
        return placed

    def _mm(self, origin_mm: float, cell: int) -> float:
        return origin_mm + cell * self._raster.cell_mm - self._raster.half_mm

    def _put(self, bed: _Bed, shape: Shape, rule: _Rule) -> _Spot | None:
        """Take the cells of the best free position of a shape; None if there is none."""
        known = (bed.state, shape.key, rule)
        if known not in self._laid_before:
            self._look(bed, shape)
            self._laid_before[known] = _best(shape, bed.free, rule)
        spot = self._laid_before[known]
        if spot is not None:
            mask = shape.masks[spot.turn].mask
            bed.taken[spot.y : spot.y + mask.shape[0], spot.x : spot.x + mask.shape[1]] |= mask
            bed.since.append((shape.key, spot))
            bed.state = self._states.setdefault((bed.state, shape.key, spot), len(self._states) + 1)
        return spot

    def _look(self, bed: _Bed, shape: Shape) -> None:
        """Find where a shape is free at each turn: anew, or less what was laid since if only it was."""
        if bed.state == _EMPTY:
            bed.free = [np.ones(self._places(turned), np.bool_) for turned in shape.masks]
        elif bed.key != shape.key or any(key != shape.key for key, _ in bed.since):
            spectrum = np.fft.rfft2(bed.taken, self._raster.grid)
            bed.free = [self._free(spectrum, turned) for turned in shape.masks]
        else:
            for (_, spot), number in product(bed.since, range(len(shape.masks))):
                rows, columns = shape.masks[number].mask.shape
                low, left = spot.y - rows + 1, spot.x - columns + 1
                meets = self._meeting(shape, spot.turn, number)
                window = bed.free[number][
                    max(low, 0) : low + meets.shape[0], max(left, 0) : left + meets.shape[1]
                ]
                inside = meets[max(-low, 0) :, max(-left, 0) :]
                window &= ~inside[: window.shape[0], : window.shape[1]]
        bed.key, bed.since = shape.key, []

    def _places(self, turned: Turned) -> tuple[int, int]:
        rows, columns = (a - b + 1 for a, b in zip(self._raster.cells, turned.mask.shape, strict=True))
        return rows, columns

    def _free(self, spectrum: Spectrum, turned: Turned) -> Flags:
        """Return at which places no cell is taken twice, by correlation."""
        shared = np.fft.irfft2(spectrum * turned.spectrum, self._raster.grid)
        rows, columns = self._places(turned)
        return np.asarray(shared[:rows, :columns] < _SHARED)

    def _meeting(self, shape: Shape, laid: int, number: int) -> Flags:
        """Return at which places, from the farthest below, one turn of a shape meets one that was laid."""
        key = (shape.key, laid, number)
        if key not in self._met:
            one, other = shape.masks[laid].mask, shape.masks[number].mask
            size = (one.shape[0] + other.shape[0] - 1, one.shape[1] + other.shape[1] - 1)
            shared = np.fft.irfft2(np.fft.rfft2(one, size) * np.conj(np.fft.rfft2(other, size)), size)
            self._met[key] = np.roll(shared >= _SHARED, (other.shape[0] - 1, other.shape[1] - 1), (0, 1))
        return self._met[key]


def placed_shape(outline: shapely.Geometry, placed: Placed) -> shapely.Geometry:
    """Return an outline as it lies on its bed."""
    turned = affinity.rotate(outline, placed.turn_deg, origin=(0.0, 0.0))
    return affinity.translate(turned, *placed.at_mm)


def least_gap_mm(shapes: Sequence[shapely.Geometry]) -> float:
    """Return the least distance of any two shapes; infinite of fewer than two.

    Examples
    --------
    >>> least_gap_mm([shapely.box(0, 0, 1, 1), shapely.box(4, 0, 5, 1), shapely.box(0, 3.5, 1, 4)])
    2.5
    """
    if len(shapes) < 2:
        return math.inf
    tree = shapely.STRtree(list(shapes))
    _, gaps = tree.query_nearest(list(shapes), exclusive=True, return_distance=True)
    return float(gaps.min())


class _Spot(NamedTuple):
    """Which turn of a shape lies at which column and row."""

    turn: int
    x: int
    y: int


_EMPTY = 0


@dataclass(slots=True)
class _Bed:
    """The cells that are taken on a bed, and where one shape was free before what was laid since."""

    taken: Flags
    state: int = _EMPTY
    """Beds on which the same was laid have the same number."""
    key: int = -1
    free: list[Flags] = field(default_factory=list)
    since: list[tuple[int, _Spot]] = field(default_factory=list)


_ORDERS: tuple[Callable[[Shape], float], ...] = (
    lambda shape: -shape.area,
    lambda shape: -max(shape.sides),
    lambda shape: -min(shape.sides),
)
_Rule = Callable[[int, int, int, int], tuple[int, int]]
_RULES: tuple[_Rule, ...] = (
    lambda x, y, _width, height: (y + height, x),
    lambda x, y, _width, _height: (y, x),
    lambda x, y, width, height: (2 * y + height, 2 * x + width),
)


def _count(placed: Sequence[Placed]) -> int:
    return 1 + max((one.bed for one in placed), default=-1)


def _best(shape: Shape, free: Sequence[Flags], rule: _Rule) -> _Spot | None:
    """Return the best free place of a shape, turn by turn the first; None if there is none."""
    found: list[tuple[tuple[int, int], _Spot]] = []
    for number, (turned, places) in enumerate(zip(shape.masks, free, strict=True)):
        y, x = divmod(int(np.argmax(places)), places.shape[1])
        if places[y, x]:
            rows, columns = turned.mask.shape
            found.append((rule(x, y, columns, rows), _Spot(number, x, y)))
    return min(found)[1] if found else None
