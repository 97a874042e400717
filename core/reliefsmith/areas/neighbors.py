"""Chains of points, and the points a number of steps away along them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from ..model.arrays import Flags, Floats, Ints, Points

__all__ = ["Chains", "Moments", "Neighbors", "moments_of"]

Step: TypeAlias = tuple[Flags, Floats, Floats, Floats, Floats]
"""Of the points some steps on: existence, weight, signed arc distance, and the way there in x and y."""


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
    starts: Ints
    closed: Flags

    @property
    def sizes(self) -> Ints:
        """Number of points of each chain."""
        return np.diff(self.starts)

    @property
    def chain_of(self) -> Ints:
        """Chain of each point."""
        return np.repeat(np.arange(self.sizes.size), self.sizes)


@dataclass(frozen=True, slots=True)
class Neighbors:
    """The points a number of steps away along the chains."""

    every: Ints
    begin: Ints
    size: Ints
    closed: Flags
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

    def steps(self, chains: Chains, offsets: Iterable[int], at: Ints | None = None) -> Iterator[Step]:
        """Yield the points the given numbers of steps on from the points `at`, or from every one."""
        x, y = chains.points[:, 0].copy(), chains.points[:, 1].copy()
        own_x, own_y = (x, y) if at is None else (x[at], y[at])
        for offset in offsets:
            index, distance, exists = self.at(offset, at)
            yield exists, chains.weights[index], distance, x[index] - own_x, y[index] - own_y

    def at(self, offset: int | Ints, points: Ints | None = None) -> tuple[Ints, Floats, Flags]:
        """Return index, signed arc distance and existence of the point `offset` steps on.

        From each of the given points, or from every one; several offsets (s, 1) give arrays (s, n).
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
        exists = np.where(closed, 2 * np.abs(offset) < size, ~out)
        turned = np.where(low, size, np.where(high, -size, 0))
        index = np.where(exists, index + turned, begin)
        distance = self.along[index] - along
        distance += np.where(out & exists, np.where(low, -length, length), 0.0)
        return index, distance, exists


@dataclass(frozen=True, slots=True)
class Moments:
    """Sums over the points round each of n points.

    Parameters
    ----------
    weights : float64 array of shape (5, n)
        Of weight times distance to the power 0 to 4.
    ways : float64 array of shape (3, 2, n)
        Of weight times the way there in x and y, times distance to the power 0 to 2.
    used : int64 array of shape (n,)
        How many points.
    """

    weights: Floats
    ways: Floats
    used: Ints


def moments_of(steps: Iterable[Step], count: int, sigma: float, unit: float) -> Moments:
    """Sum over steps from `count` points, with a Gaussian of `sigma` pixels; distances in units of pixels."""
    moments = Moments(np.zeros((5, count)), np.zeros((3, 2, count)), np.zeros(count, dtype=np.int64))
    way = np.empty((2, count))
    for exists, own, distance, x, y in steps:
        weight = np.where(exists, own, 0.0)
        weight *= np.exp(-0.5 * (distance / sigma) ** 2)
        # Ways are relative to the point itself, so that large coordinates lose no digits.
        np.multiply(weight, x, out=way[0])
        np.multiply(weight, y, out=way[1])
        scaled = distance / unit
        _add_powers(moments.weights, weight, scaled)
        _add_powers(moments.ways, way, scaled)
        np.add(moments.used, exists, out=moments.used)
    return moments


def _add_powers(sums: Floats, term: Floats, scaled: Floats) -> None:
    """Add a term times distance to the power 0, 1, ... to the sums of each; the term is used up."""
    for power in range(len(sums)):
        if power:
            term *= scaled
        np.add(sums[power], term, out=sums[power])
