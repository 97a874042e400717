"""Outlines in cells of a bed, at every turn that they may have."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity

from ..errors import RecipeError
from ..model.arrays import Flags

__all__ = ["Raster", "Shape", "Spectrum", "Turned"]

Spectrum = npt.NDArray[np.complex128]

_QUARTER_DEG = 90.0
_MOST_CELLS = 2**22
"""Of a bed: 500 x 500 mm in the finest cells, 2 x 2 m in usual ones; a spectrum takes 16 bytes a cell."""
_SLACK = 1e-9
"""Of a cell: what rounding may add to whole cells."""


@dataclass(frozen=True, slots=True)
class Turned:
    """An outline on the raster at one turn: its cells, their spectrum, and where its origin lies in them."""

    mask: Flags
    spectrum: Spectrum
    turn_deg: float
    origin_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline at all turns at which it lies on an empty bed."""

    key: int
    masks: tuple[Turned, ...]
    area: float
    sides: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Raster:
    """The cells of a bed and half the spacing all round it, and the size at which they are transformed."""

    bed_mm: tuple[float, float]
    cells: tuple[int, int]
    grid: tuple[int, int]
    cell_mm: float
    half_mm: float

    @classmethod
    def of(cls, bed_mm: tuple[float, float], spacing_mm: float, cell_mm: float) -> Raster:
        """Return the raster of a bed.

        Raises
        ------
        RecipeError
            If it would have far more cells than a bed needs.
        """
        width, depth = (math.floor((side + spacing_mm) / cell_mm + _SLACK) for side in bed_mm)
        if width * depth > _MOST_CELLS:
            raise RecipeError(
                f"beds.cell_mm of {cell_mm:g} makes {width} x {depth} cells of the bed; use larger ones"
            )
        return cls(bed_mm, (depth, width), (_quick(depth), _quick(width)), cell_mm, spacing_mm / 2)

    def shape(self, key: int, outline: shapely.Geometry, turns: int) -> Shape:
        """Return an outline in cells, at 4 or 8 turns."""
        starts = (0.0,) if turns == 4 else (0.0, _QUARTER_DEG / 2)
        masks: list[Turned] = []
        for one in (one for start in starts for one in self._quarters(outline, start)):
            fits = all(side <= room for side, room in zip(one.mask.shape, self.cells, strict=True))
            if fits and not any(np.array_equal(one.mask, other.mask) for other in masks):
                masks.append(one)
        masks = masks or [one for start in starts for one in self._alone(outline, start)]
        x0, y0, x1, y1 = outline.bounds
        return Shape(key, tuple(masks), outline.area, (x1 - x0, y1 - y0))

    def _alone(self, outline: shapely.Geometry, start_deg: float) -> Iterator[Turned]:
        """Give an outline that the bed has room for, but not for all of its last row or column of cells."""
        for turn_deg in (start_deg, start_deg + _QUARTER_DEG):
            turned = affinity.rotate(outline, turn_deg, origin=(0.0, 0.0))
            x0, y0, x1, y1 = turned.bounds
            if x1 - x0 <= self.bed_mm[0] + _SLACK and y1 - y0 <= self.bed_mm[1] + _SLACK:
                mask, corner = self._drawn(turned)
                mask = mask[: self.cells[0], : self.cells[1]]
                spectrum = np.conj(np.fft.rfft2(mask, self.grid))
                yield Turned(mask, spectrum, turn_deg, (-corner[0], -corner[1]))

    def _quarters(self, outline: shapely.Geometry, start_deg: float) -> Iterator[Turned]:
        """Give an outline at four turns, drawn once: a turned raster is that of the turned outline."""
        turned = affinity.rotate(outline, start_deg, origin=(0.0, 0.0))
        mask, corner = self._drawn(turned)
        across, up = mask.shape[1] * self.cell_mm, mask.shape[0] * self.cell_mm
        x, y = -corner[0], -corner[1]  # of the origin, in the raster
        for quarter in range(4):
            spectrum = np.conj(np.fft.rfft2(mask, self.grid))
            yield Turned(mask, spectrum, start_deg + quarter * _QUARTER_DEG, (x, y))
            mask = np.ascontiguousarray(np.rot90(mask, -1))  # rows count upward here
            x, y, across, up = up - y, x, up, across

    def _drawn(self, outline: shapely.Geometry) -> tuple[Flags, tuple[float, float]]:
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
