"""How much of the artwork repair changed, and from which width on it would change little."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely

from ...polygons import polygons_of
from ...progress import Steps
from .partition import Sheet

__all__ = ["MUCH", "changed_share", "is_faithful", "smallest_good_scale"]

MUCH = 0.03
"""Share of the artwork's area above which repair is worth a finding."""

_LARGE_MM2 = 1.0
_LOST = 0.5
"""No piece larger than the first may lose more than the second: a small share can hide a lost part."""

_ROUNDING_MM2 = 1e-6
"""Sums of areas are off by less than this."""

_LARGEST_SCALE = 8.0
_STEPS = 3


def changed_share(before: Sheet, after: Sheet, area: float) -> float:
    """Return the area that changed its color over that of the artwork: every changed point is someone's gain.

    Growth into the ground counts, so a one-color artwork that only gains is not taken for unchanged.
    """
    return sum(_gains(before, after)) / max(area, 1e-9)


def is_faithful(before: Sheet, after: Sheet, area: float, scale: float = 1.0) -> bool:
    """Tell whether repair changed at most 3 % and took no more than half of any large piece.

    Parameters
    ----------
    before, after : Sheet
    area : float
        Of the artwork, in mm2.
    scale : float
        By which the artwork is thought enlarged; pieces count as large by their enlarged area.
    """
    gains = _gains(before, after)
    if sum(gains) / max(area, 1e-9) > MUCH:
        return False
    for old, new, gain in zip(before.motifs, after.motifs, gains[:-1], strict=True):
        pieces = np.asarray(polygons_of(old), dtype=object)
        pieces = pieces[shapely.area(pieces) * scale**2 > _LARGE_MM2]
        lost = old.area + gain - new.area + _ROUNDING_MM2
        pieces = pieces[_LOST * shapely.area(pieces) < lost]  # the others cannot have lost so much
        kept = shapely.area(shapely.intersection(pieces, new))
        if (kept < (1 - _LOST) * shapely.area(pieces)).any():
            return False
    return True


def _gains(before: Sheet, after: Sheet) -> list[float]:
    """Return the area that each motif gained, and the ground at last."""
    pairs = [*zip(before.motifs, after.motifs, strict=True), (before.ground, after.ground)]
    return [float(new.difference(old).area) for old, new in pairs]


def smallest_good_scale(
    before: Sheet, area: float, repaired_at: Callable[[float], Steps[Sheet]]
) -> Steps[float | None]:
    """Return by how much the artwork must be enlarged for a faithful repair, or None beyond eightfold.

    Parameters
    ----------
    before : Sheet
        Before repair.
    area : float
        Of the artwork.
    repaired_at : callable
        Steps that repair the sheet with limits divided by a scale.

    Notes
    -----
    Doubling finds a scale that is good, geometric bisection narrows it to an eighth of an octave; the answer
    is the upper end, which was tried and is good.
    """
    low, high = 1.0, 2.0
    while not is_faithful(before, (yield from repaired_at(high)), area, high):
        low, high = high, 2 * high
        if high > _LARGEST_SCALE:
            return None
    for _ in range(_STEPS):
        middle = math.sqrt(low * high)
        if is_faithful(before, (yield from repaired_at(middle)), area, middle):
            high = middle
        else:
            low = middle
    return high
