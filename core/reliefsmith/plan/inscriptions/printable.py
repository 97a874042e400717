"""Letters made printable, each by itself, by the repair that mends the artwork's strokes and gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import shapely

from ...polygons import noded_coverage, snapped
from ..strokes.changed import changed_share
from ..strokes.leastwidths import Limits
from ..strokes.partition import sheet_of
from ..strokes.repair import repaired_sheet

__all__ = ["STEP", "Mending", "rung_mm"]

STEP = 1.08
"""Letters of a text that is fitted are mended at the next lower of sizes this far apart, and enlarged from
it: names of one batch then share letters, and strokes are at most so much, 8 %, wider than the least."""


@dataclass(frozen=True, slots=True)
class Mending:
    """What makes letters printable.

    Parameters
    ----------
    limits : Limits
    scale : float
        By which letters are taken to the size at which they are mended, and from it.
    """

    limits: Limits
    scale: float = 1.0

    @classmethod
    def fitted(cls, limits: Limits, size_mm: float) -> Mending:
        """Return that of letters of a text that is fitted, by the height of its capitals."""
        return cls(limits, rung_mm(size_mm) / size_mm)

    def __call__(self, shape: shapely.MultiPolygon) -> shapely.MultiPolygon:
        """Return what is printed of a letter's outline."""
        mended = self._mended(shape)[0]
        found: shapely.MultiPolygon = shapely.transform(mended, lambda points: points / self.scale)
        return found

    def changed(self, shape: shapely.MultiPolygon) -> float:
        """Return the area that mending changes of a letter's outline, as a share of its own."""
        return self._mended(shape)[1]

    def _mended(self, shape: shapely.MultiPolygon) -> tuple[shapely.MultiPolygon, float]:
        drawn = shapely.transform(shape, lambda points: snapped(points * self.scale))
        return _mended(drawn.wkb, self.limits)


def rung_mm(size_mm: float, apart: int = 1) -> float:
    """Return the next lower of sizes that all texts share, every one or every `apart`-th."""
    return float(STEP ** (apart * math.floor(math.log(size_mm, STEP) / apart + 1e-9)))


@lru_cache(maxsize=2048)
def _mended(wkb: bytes, limits: Limits) -> tuple[shapely.MultiPolygon, float]:
    (drawn,) = noded_coverage([shapely.from_wkb(wkb)])
    if drawn.is_empty:
        return drawn, 0.0
    before = sheet_of((drawn,))
    after = repaired_sheet(before, limits)
    return after.motifs[0], changed_share(before, after, drawn.area)
