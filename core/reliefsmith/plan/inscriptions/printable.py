"""Letters made printable, each by itself, by the repair that mends the artwork's strokes and gaps."""

from __future__ import annotations

import math
from functools import lru_cache

import shapely

from ...polygons import noded_coverage, snapped
from ...typeset.along import AsPrinted
from ..strokes.changed import changed_share
from ..strokes.leastwidths import Limits
from ..strokes.partition import sheet_of
from ..strokes.repair import repaired_sheet

__all__ = ["STEP", "changed_by_repair", "printed_at"]

STEP = 1.04
"""Letters of a text that is fitted are mended at the next lower of sizes this far apart, and enlarged from
it: names of one batch then share letters, and strokes are at most so much, 4 %, wider than the least."""


def printed_at(limits: Limits, size_mm: float = 0.0) -> AsPrinted:
    """Return what makes letters printable.

    Parameters
    ----------
    limits : Limits
    size_mm : float
        Height of the capitals of a text that is fitted; 0 for a size that is given.
    """
    scale = STEP ** math.floor(math.log(size_mm, STEP)) / size_mm if size_mm else 1.0

    def printed(shape: shapely.MultiPolygon) -> shapely.MultiPolygon:
        drawn = shapely.transform(shape, lambda points: snapped(points * scale))
        mended = _mended(drawn.wkb, limits)[0]
        found: shapely.MultiPolygon = shapely.transform(mended, lambda points: points / scale)
        return found

    return printed


def changed_by_repair(shape: shapely.MultiPolygon, limits: Limits) -> float:
    """Return the area that repair changes of a letter, as a share of its own."""
    return _mended(shapely.transform(shape, snapped).wkb, limits)[1]


@lru_cache(maxsize=2048)
def _mended(wkb: bytes, limits: Limits) -> tuple[shapely.MultiPolygon, float]:
    (drawn,) = noded_coverage([shapely.from_wkb(wkb)])
    if drawn.is_empty:
        return drawn, 0.0
    before = sheet_of((drawn,))
    after = repaired_sheet(before, limits)
    return after.motifs[0], changed_share(before, after, drawn.area)
