"""Rims where two paints end at the same line over a third: what they leave at the edge says where it lies.

A renderer paints one shape after the other. Where the upper and the lower paint both cover the part c of a
pixel, it shows c of the upper paint, (1 - c) c of the lower one and (1 - c)^2 of what is beneath. Taken for a
mix of two colors, such a pixel would put the boundary up to 0.25 px too far outside.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Floats, Ints

__all__ = ["Rims", "settle_rims"]

OFF = 8.0
"""Levels from the line between two colors from which on a third may shine through."""

EXPLAINED = 5.0
"""Levels within which paint over paint explains a pixel."""

LEAST_PIXELS = 8
"""Pixels along one boundary that one pair of paints must explain; where three areas meet there are fewer."""

STEPS = 5
"""Steps of the Gauss-Newton search for the covered part; from a half they gain a digit or two each."""


@dataclass(frozen=True, slots=True)
class Rims:
    """Pixels beside boundaries that the two colors of the boundary do not mix.

    Parameters
    ----------
    values : float64 array of shape (n, c)
        In the mixing space.
    right, left : int64 arrays of shape (n,)
        Labels on both sides of the boundary.
    off : float64 array of shape (n,)
        Levels from the line between the two colors.
    arc : int64 array of shape (n,)
        Number of the boundary.
    """

    values: Floats
    right: Ints
    left: Ints
    off: Floats
    arc: Ints


def settle_rims(rims: Rims, palette: Floats, *, clear: bool) -> tuple[Floats, Floats]:
    """Find what part of each pixel the color on the left covers, if paint lies over paint there.

    Parameters
    ----------
    rims : Rims
    palette : float64 array of shape (k, c)
        Color of each label in the mixing space.
    clear : bool
        Whether label 0 is no paint.

    Returns
    -------
    fraction : float64 array of shape (n,)
        Nan where no paint over paint explains the pixel.
    off : float64 array of shape (n,)
        Levels that the explanation leaves open.
    """
    arcs = int(rims.arc.max()) + 1
    fraction, rest = np.full(rims.off.size, np.nan), rims.off.copy()
    most = np.zeros(rims.off.size)
    for upper, lower, onto_left in ((rims.left, rims.right, True), (rims.right, rims.left, False)):
        for under in range(len(palette)):
            may = np.flatnonzero((under != upper) & (under != lower) & ~(clear & (upper == 0)))
            if may.size < LEAST_PIXELS:
                continue
            part, open_ = np.zeros(rims.off.size), np.full(rims.off.size, np.inf)
            part[may], open_[may] = _covered(
                rims.values[may], palette[upper[may]], palette[under], palette[lower[may]]
            )
            fits = open_ < EXPLAINED
            count = np.bincount(rims.arc, weights=fits, minlength=arcs)
            worth = np.bincount(rims.arc, weights=np.where(fits, EXPLAINED - open_, 0.0), minlength=arcs)
            better = fits & (count >= LEAST_PIXELS)[rims.arc] & (worth[rims.arc] > most)
            most[better] = worth[rims.arc][better]
            fraction[better] = (part if onto_left else 1.0 - part)[better]
            rest[better] = open_[better]
    return fraction, rest


def _covered(values: Floats, upper: Floats, under: Floats, lower: Floats) -> tuple[Floats, Floats]:
    """Fit c in c upper + (1 - c) c under + (1 - c)^2 lower to the values; also return what it leaves open."""
    value, first, second = (np.ascontiguousarray((of - lower).T) for of in (values, upper, under))
    part = np.full(len(values), 0.5)
    for _ in range(STEPS):
        rest = value - part * first - (part * (1.0 - part)) * second
        slope = first + (1.0 - 2.0 * part) * second
        part += (rest * slope).sum(axis=0) / np.maximum((slope * slope).sum(axis=0), 1e-6)
        np.clip(part, 0.0, 1.0, out=part)
    rest = value - part * first - (part * (1.0 - part)) * second
    return part, np.sqrt((rest * rest).sum(axis=0))
