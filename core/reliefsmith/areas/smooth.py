"""Smooth chains of points: a weighted quadratic in arc length, fitted round every point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import Points
from .chains import Indices

__all__ = ["Chains", "Neighbors", "Window", "smooth_chains"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chains:
    """Points in the order of their chains.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
    weights : float64 array of shape (n,)
    starts : int64 array of shape (m + 1,)
        Points `starts[i]:starts[i + 1]` are chain i.
    closed : bool array of shape (m,)
        Whether the last point joins the first; neither is repeated.
    """

    points: Points
    weights: Floats
    starts: Indices
    closed: npt.NDArray[np.bool_]

    @property
    def sizes(self) -> Indices:
        """Number of points of each chain."""
        return np.diff(self.starts)

    @property
    def chain_of(self) -> Indices:
        """Chain of each point."""
        return np.repeat(np.arange(self.sizes.size), self.sizes)


@dataclass(frozen=True, slots=True)
class Window:
    """How many points to each side are fitted, and the Gaussian's sigma in pixels of arc length."""

    half: int
    sigma: float


@dataclass(frozen=True, slots=True)
class Neighbors:
    """The points a number of steps away along the chains."""

    every: Indices
    begin: Indices
    size: Indices
    closed: npt.NDArray[np.bool_]
    along: Floats
    length: Floats

    @classmethod
    def of(cls, chains: Chains) -> Neighbors:
        """Prepare the look-up: arc length along every chain, and the length of each closed one."""
        chain = chains.chain_of
        begin, size = chains.starts[:-1][chain], chains.sizes[chain]
        step = np.zeros(len(chains.points))
        step[1:] = np.hypot(*np.diff(chains.points, axis=0).T)
        step[chains.starts[:-1][chains.sizes > 0]] = 0.0
        total = np.cumsum(step)
        along = total - total[begin]
        last = begin + size - 1
        gap = np.hypot(*(chains.points[begin] - chains.points[last]).T)
        return cls(np.arange(chain.size), begin, size, chains.closed[chain], along, along[last] + gap)

    def at(self, offset: int, points: Indices | None = None) -> tuple[Indices, Floats, npt.NDArray[np.bool_]]:
        """Return index, signed arc distance and existence of the point `offset` steps on.

        From each of the given points, or from every one.
        """
        if points is None:
            own, begin, size, closed = self.every, self.begin, self.size, self.closed
            along, length = self.along, self.length
        else:
            own, begin, size, closed = points, self.begin[points], self.size[points], self.closed[points]
            along, length = self.along[points], self.length[points]
        index = own + offset
        low, high = index < begin, index >= begin + size
        out = low | high
        # A closed chain is looked round at most half way, so that no point is met twice.
        exists = np.where(closed, 2 * abs(offset) < size, ~out)
        turned = np.where(low, size, np.where(high, -size, 0))
        index = np.where(exists, index + turned, begin)
        distance = self.along[index] - along
        distance += np.where(out & exists, np.where(low, -length, length), 0.0)
        return index, distance, exists


def smooth_chains(chains: Chains, window: Window) -> Points:
    """Return each point moved onto the quadratic that fits its neighbors best; it does not shrink curves.

    The ends of open chains stay where they are. Local regression after W. S. Cleveland, "Robust Locally
    Weighted Regression and Smoothing Scatterplots", JASA 74 (1979), in arc length instead of x.
    """
    look = Neighbors.of(chains)
    count = len(chains.points)
    moments = np.zeros((5, count))
    sums = np.zeros((3, count, 2))
    seen = np.zeros(count, dtype=np.int64)
    for offset in range(-window.half, window.half + 1):
        index, distance, exists = look.at(offset)
        weight = np.where(exists, chains.weights[index], 0.0)
        weight *= np.exp(-0.5 * (distance / window.sigma) ** 2)
        # Relative to the point itself, so that large coordinates lose no digits.
        term = weight[:, None] * (chains.points[index] - chains.points)
        scaled = distance / window.sigma
        for power in range(5):
            moments[power] += weight
            if power < 3:
                sums[power] += term
                term = term * scaled[:, None]
            weight = weight * scaled
        seen += exists
    moved = chains.points + _value_at_zero(moments, sums)
    fixed = seen < 4
    ends = ~chains.closed & (chains.sizes > 0)
    fixed[chains.starts[:-1][ends]] = True
    fixed[chains.starts[1:][ends] - 1] = True
    moved[fixed] = chains.points[fixed]
    return moved


def _value_at_zero(moments: Floats, sums: Floats) -> Points:
    """Solve the 3 x 3 normal equations of a quadratic for its constant term by Cramer's rule."""
    s0, s1, s2, s3, s4 = moments
    minor0, minor1, minor2 = s2 * s4 - s3 * s3, s1 * s4 - s2 * s3, s1 * s3 - s2 * s2
    determinant = s0 * minor0 - s1 * minor1 + s2 * minor2
    good = determinant > 1e-9 * np.maximum(s0, 1e-12) ** 3
    numerator = sums[0] * minor0[:, None] - sums[1] * minor1[:, None] + sums[2] * minor2[:, None]
    value: Floats = numerator / np.where(good, determinant, 1.0)[:, None]
    value[~good] = 0.0
    return value
