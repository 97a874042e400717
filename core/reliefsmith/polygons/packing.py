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

import numpy as np
import shapely
from shapely import affinity

from ..model.arrays import Flags
from .cells import Raster, Shape, Spectrum, Turned

__all__ = ["Packing", "Placed", "least_gap_mm", "pack", "placed_shape"]

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
    """Lay outlines onto as few beds as nine ways of doing it find, the first of those that are alike.

    Each outline goes onto the first bed that has room for it. The ways are three orders (area, long side,
    short side, the largest first) with three rules for which turn is best (lowest top edge, lowest bottom
    edge, lowest middle).

    Parameters
    ----------
    outlines : sequence of Polygon or MultiPolygon
        Seen from above, in mm; the same bytes count as the same outline.
    bed_mm : (float, float)
        Width and depth, up to whose edges outlines may lie.
    spacing_mm : float
        Least distance of two outlines.
    cell_mm : float
        Side of a cell: smaller ones lay more tightly, and take longer.
    turns : int
        4, or 8 with those by half a right angle.
    """
    raster = Raster.of(bed_mm, spacing_mm, cell_mm)
    shapes = raster.shapes(outlines, turns)
    todo = [index for index, shape in enumerate(shapes) if shape.masks]
    cells = sum(min(int(one.mask.sum()) for one in shapes[index].masks) for index in todo)
    least = math.ceil(cells / math.prod(raster.cells))
    best: list[Placed] = []
    met: _Met = {}
    ways = (tuple(sorted(todo, key=lambda index: (order(shapes[index]), index))) for order in _ORDERS)
    for ranked, rule in product(dict.fromkeys(ways), _RULES):  # pieces of one kind have one order
        found = _laid(raster, shapes, ranked, rule, met, most=_count(best) - 1 if best else len(todo))
        best = found or best
        if _count(best) == least:  # fewer beds would not hold their cells
            break
    left = tuple(index for index, shape in enumerate(shapes) if not shape.masks)
    return Packing(tuple(sorted(best, key=lambda one: (one.bed, one.index))), left)


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


@dataclass(slots=True)
class _Bed:
    """The cells that are taken on a bed, shapes without room, and where the shape laid last is still free."""

    taken: Flags
    full_for: set[int] = field(default_factory=set)
    key: int = -1
    free: list[Flags] = field(default_factory=list)
    latest: tuple[int, int, int] | None = None
    """Which turn of that shape was laid last, and its column and row; None once that is reckoned with."""


_Met = dict[tuple[int, int, int], Flags]
"""By shape and two of its turns: places of the second, seen from the first, at which both share a cell."""

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


def _laid(
    raster: Raster, shapes: Sequence[Shape], ranked: Sequence[int], rule: _Rule, met: _Met, *, most: int
) -> list[Placed]:
    """Lay outlines in an order, each onto the first bed that takes it; nothing if `most` beds are too few."""
    beds: list[_Bed] = []
    placed = []
    for index in ranked:
        shape = shapes[index]
        for number in range(most):
            if number == len(beds):
                beds.append(_Bed(np.zeros(raster.cells, dtype=np.bool_)))
            found = _put(raster, beds[number], shape, rule, met)
            if found is not None:
                turned, x, y = found
                at = (
                    turned.origin_mm[0] + x * raster.cell_mm - raster.half_mm,
                    turned.origin_mm[1] + y * raster.cell_mm - raster.half_mm,
                )
                placed.append(Placed(index, number, turned.turn_deg, at))
                break
        else:
            return []
    return placed


def _put(raster: Raster, bed: _Bed, shape: Shape, rule: _Rule, met: _Met) -> tuple[Turned, int, int] | None:
    """Take the cells of the best free position of a shape; None if there is none."""
    if shape.key in bed.full_for:
        return None
    _look(raster, bed, shape, met)
    best: tuple[tuple[int, int], int, int, int] | None = None
    for number, (turned, free) in enumerate(zip(shape.masks, bed.free, strict=True)):
        at = int(np.argmax(free))
        y, x = divmod(at, free.shape[1])
        if free[y, x]:
            rows, columns = turned.mask.shape
            rank = rule(x, y, columns, rows)
            if best is None or rank < best[0]:
                best = (rank, number, x, y)
    if best is None:
        bed.full_for.add(shape.key)
        return None
    _, number, x, y = best
    bed.latest = (number, x, y)
    turned = shape.masks[number]
    rows, columns = turned.mask.shape
    bed.taken[y : y + rows, x : x + columns] |= turned.mask
    return turned, x, y


def _look(raster: Raster, bed: _Bed, shape: Shape, met: _Met) -> None:
    """Find where a shape is free at each turn; if it was laid last, less what that took, else anew."""
    if bed.key != shape.key:
        spectrum = np.fft.rfft2(bed.taken, raster.grid)
        bed.free = [_free(raster, spectrum, turned) for turned in shape.masks]
    elif bed.latest is not None:
        laid, x, y = bed.latest
        for number, (turned, free) in enumerate(zip(shape.masks, bed.free, strict=True)):
            rows, columns = turned.mask.shape
            low, left = y - rows + 1, x - columns + 1
            meets = _meeting(shape, laid, number, met)
            window = free[max(low, 0) : low + meets.shape[0], max(left, 0) : left + meets.shape[1]]
            inside = meets[max(-low, 0) :, max(-left, 0) :]
            window &= ~inside[: window.shape[0], : window.shape[1]]
    bed.key, bed.latest = shape.key, None


def _free(raster: Raster, spectrum: Spectrum, turned: Turned) -> Flags:
    """Return at which places no cell is taken twice, by correlation."""
    shared = np.fft.irfft2(spectrum * turned.spectrum, raster.grid)
    rows, columns = (room - side + 1 for room, side in zip(raster.cells, turned.mask.shape, strict=True))
    return np.asarray(shared[:rows, :columns] < _SHARED)


def _meeting(shape: Shape, laid: int, number: int, met: _Met) -> Flags:
    """Return at which places, from the farthest below, one turn of a shape meets one that was laid."""
    key = (shape.key, laid, number)
    if key not in met:
        one, other = shape.masks[laid].mask, shape.masks[number].mask
        size = (one.shape[0] + other.shape[0] - 1, one.shape[1] + other.shape[1] - 1)
        shared = np.fft.irfft2(np.fft.rfft2(one, size) * np.conj(np.fft.rfft2(other, size)), size)
        met[key] = np.roll(shared >= _SHARED, (other.shape[0] - 1, other.shape[1] - 1), (0, 1))
    return met[key]
