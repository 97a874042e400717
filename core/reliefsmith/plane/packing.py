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
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity

__all__ = ["Packing", "Placed", "least_gap_mm", "pack", "placed_shape"]

Mask = npt.NDArray[np.bool_]
Spectrum = npt.NDArray[np.complex128]

_QUARTER_DEG = 90.0
_SLACK = 1e-9
"""Of a cell: what rounding may add to whole cells."""
_SHARED = 0.5
"""Counts of shared cells are whole numbers; below this there are none."""


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
    cell_mm: float = 1.0,
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
    raster = _Raster.of(bed_mm, spacing_mm, cell_mm)
    shapes = raster.shapes(outlines, turns)
    todo = [index for index, shape in enumerate(shapes) if shape.masks]
    best: list[Placed] = []
    for order, rule in product(_ORDERS, _RULES):
        ranked = sorted(todo, key=lambda index: (order(shapes[index]), index))
        found = _laid(raster, shapes, ranked, rule, most=_count(best) - 1 if best else len(todo))
        best = found or best
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


@dataclass(frozen=True, slots=True)
class _Turned:
    """An outline on the raster at one turn: its cells, their spectrum, and where its origin lies in them."""

    mask: Mask
    spectrum: Spectrum
    turn_deg: float
    origin_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Shape:
    """An outline at all turns at which it lies on an empty bed."""

    key: int
    masks: tuple[_Turned, ...]
    area: float
    sides: tuple[float, float]


@dataclass(slots=True)
class _Bed:
    """The cells that are taken on a bed, their spectrum once it is asked for, and shapes without room."""

    taken: Mask
    spectrum: Spectrum | None = None
    full_for: set[int] = field(default_factory=set)


_ORDERS: tuple[Callable[[_Shape], float], ...] = (
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


@dataclass(frozen=True, slots=True)
class _Raster:
    """The cells of a bed and half the spacing all round it, and the size at which they are transformed."""

    cells: tuple[int, int]
    grid: tuple[int, int]
    cell_mm: float
    half_mm: float

    @classmethod
    def of(cls, bed_mm: tuple[float, float], spacing_mm: float, cell_mm: float) -> _Raster:
        width, depth = (math.floor((side + spacing_mm) / cell_mm + _SLACK) for side in bed_mm)
        return cls((depth, width), (_quick(depth), _quick(width)), cell_mm, spacing_mm / 2)

    def shapes(self, outlines: Sequence[shapely.Geometry], turns: int) -> list[_Shape]:
        """Return the outlines in cells, each different one drawn once."""
        known: dict[bytes, _Shape] = {}
        found = []
        for outline in outlines:
            key = shapely.to_wkb(outline)
            if key not in known:
                known[key] = self._shape(len(known), outline, turns)
            found.append(known[key])
        return found

    def _shape(self, key: int, outline: shapely.Geometry, turns: int) -> _Shape:
        masks: list[_Turned] = []
        for start_deg in (0.0,) if turns == 4 else (0.0, _QUARTER_DEG / 2):
            for one in self._quarters(outline, start_deg):
                fits = all(side <= room for side, room in zip(one.mask.shape, self.cells, strict=True))
                if fits and not any(np.array_equal(one.mask, other.mask) for other in masks):
                    masks.append(one)
        x0, y0, x1, y1 = outline.bounds
        return _Shape(key, tuple(masks), outline.area, (x1 - x0, y1 - y0))

    def _quarters(self, outline: shapely.Geometry, start_deg: float) -> Iterator[_Turned]:
        """Give an outline at four turns, drawn once: a turned raster is that of the turned outline."""
        turned = affinity.rotate(outline, start_deg, origin=(0.0, 0.0))
        mask, corner = self._drawn(turned)
        across, up = mask.shape[1] * self.cell_mm, mask.shape[0] * self.cell_mm
        x, y = -corner[0], -corner[1]  # of the origin, in the raster
        for quarter in range(4):
            spectrum = np.conj(np.fft.rfft2(mask, self.grid))
            yield _Turned(mask, spectrum, start_deg + quarter * _QUARTER_DEG, (x, y))
            mask = np.ascontiguousarray(np.rot90(mask, -1))  # rows count upward here
            x, y, across, up = up - y, x, up, across

    def _drawn(self, outline: shapely.Geometry) -> tuple[Mask, tuple[float, float]]:
        """Return the cells that come nearer to an outline than half the spacing, and their lower corner."""
        x0, y0, x1, y1 = outline.bounds
        corner = (x0 - self.half_mm, y0 - self.half_mm)
        size = (y1 + self.half_mm - corner[1], x1 + self.half_mm - corner[0])
        rows, columns = (max(math.ceil(side / self.cell_mm - _SLACK), 1) for side in size)
        left = corner[0] + self.cell_mm * np.arange(columns)[None, :]
        low = corner[1] + self.cell_mm * np.arange(rows)[:, None]
        cells = shapely.box(left, low, left + self.cell_mm, low + self.cell_mm)
        shapely.prepare(outline)
        return shapely.dwithin(outline, cells, self.half_mm), corner


def _quick(cells: int) -> int:
    """Return the next count whose only factors are 2, 3 and 5, which is transformed quickly."""
    while True:
        rest = cells
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return cells
        cells += 1


def _count(placed: Sequence[Placed]) -> int:
    return 1 + max((one.bed for one in placed), default=-1)


def _laid(
    raster: _Raster, shapes: Sequence[_Shape], ranked: Sequence[int], rule: _Rule, *, most: int
) -> list[Placed]:
    """Lay outlines in an order, each onto the first bed that takes it; nothing if `most` beds are too few."""
    beds: list[_Bed] = []
    placed = []
    for index in ranked:
        shape = shapes[index]
        for number in range(most):
            if number == len(beds):
                beds.append(_Bed(np.zeros(raster.cells, dtype=np.bool_)))
            found = _put(raster, beds[number], shape, rule)
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


def _put(raster: _Raster, bed: _Bed, shape: _Shape, rule: _Rule) -> tuple[_Turned, int, int] | None:
    """Take the cells of the best free position of a shape; None if there is none."""
    if shape.key in bed.full_for:
        return None
    best: tuple[tuple[int, int], _Turned, int, int] | None = None
    for turned in shape.masks:
        at = _lowest_free(raster, bed, turned)
        if at is not None:
            rows, columns = turned.mask.shape
            rank = rule(*at, columns, rows)
            if best is None or rank < best[0]:
                best = (rank, turned, *at)
    if best is None:
        bed.full_for.add(shape.key)
        return None
    _, turned, x, y = best
    rows, columns = turned.mask.shape
    bed.taken[y : y + rows, x : x + columns] |= turned.mask
    bed.spectrum = None
    return turned, x, y


def _lowest_free(raster: _Raster, bed: _Bed, turned: _Turned) -> tuple[int, int] | None:
    """Return the lowest, then leftmost position (column, row) at which no cell is taken twice."""
    if bed.spectrum is None:
        bed.spectrum = np.fft.rfft2(bed.taken, raster.grid)
    shared = np.fft.irfft2(bed.spectrum * turned.spectrum, raster.grid)
    rows = raster.cells[0] - turned.mask.shape[0] + 1
    columns = raster.cells[1] - turned.mask.shape[1] + 1
    free = shared[:rows, :columns] < _SHARED
    at = int(np.argmax(free))
    y, x = divmod(at, columns)
    return (x, y) if free[y, x] else None
