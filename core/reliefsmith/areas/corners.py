"""Find where a boundary has a corner, and where exactly: the crossing of the two lines that meet there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Flags, Floats, Ints, Points
from .neighbors import Chains, Moments, Neighbors, moments_of

__all__ = ["Corners", "LineFits", "find_corners", "fit_side"]

SIDE = 5
"""Points fitted on each side of a corner."""

SIGMA = 2.2
"""Reach of the fits in pixels of arc length."""

TURN_DEG = 45.0
"""A boundary that turns more than this within a pixel has a corner, by straight and by curved fits."""

FARTHEST = 3.0
"""Pixels that a corner may lie from the boundary point nearest to it; pixels round tips by up to this."""

APART = 4
"""Points to each side among which a corner is the sharpest."""

CLEAR, CLEAR_MOST, CLEAR_STEPS, REFINEMENTS = 1.3, 5.0, 8, 3
"""Pixels from a right-angled corner within which points are rounded by it, and at most from a sharp tip,
where the two sides share pixels farther down; how many points that may be a side; rounds."""

FRAME_TURN_DEG = 3.0
"""Where a boundary meets the picture's frame less steeply than this, the crossing is not well known."""


@dataclass(frozen=True, slots=True)
class Corners:
    """Corners, each in place of one point of the chains.

    Parameters
    ----------
    at : int64 array of shape (k,)
        The point that is replaced, ascending.
    place : float64 array of shape (k, 2)
    rounded : float64 array of shape (k,)
        Pixels from the corner within which the chain's own points are rounded by it.
    """

    at: Ints
    place: Points
    rounded: Floats


@dataclass(frozen=True, slots=True)
class LineFits:
    """The straight and the curved fit of the points on one side of each point.

    Parameters
    ----------
    count : int64 array of shape (n,)
        Points used.
    center, direction : float64 arrays of shape (n, 2)
        A point on the straight fit and its unit direction along the chain.
    tangent : float64 array of shape (n, 2)
        Direction of the curved fit at the point itself.
    """

    count: Ints
    center: Points
    direction: Points
    tangent: Points


def find_corners(chains: Chains, blocked: Flags, framed: Flags) -> Corners:
    """Find all corners of the chains.

    Parameters
    ----------
    chains : Chains
    blocked : bool array of shape (n,)
        Points where no corner may be.
    framed : bool array of shape (n,)
        Points on the picture's frame; a boundary that reaches or leaves the frame has a corner there.
    """
    look = Neighbors.of(chains)
    before = _side(chains, look, range(-SIDE, 0))
    after = _side(chains, look, range(1, SIDE + 1))
    straight = _turn(before.direction, after.direction)
    curved = _turn(before.tangent, after.tangent)
    enough = (before.count >= 3) & (after.count >= 3) & ~blocked
    place, crosses = _crossing(before, after)
    place = np.where(crosses[:, None], place, chains.points)
    near = np.hypot(*(place - chains.points).T) <= FARTHEST
    score = np.where(enough & crosses & near, np.minimum(straight, curved), 0.0)
    forced = _beside_frame(look, framed) & enough
    unsure = forced & ((straight < np.radians(FRAME_TURN_DEG)) | ~crosses | ~near)
    place[unsure] = chains.points[unsure]
    score[forced] = 2 * np.pi
    at = _sharpest(score, look, np.flatnonzero(score > np.radians(TURN_DEG)))
    return Corners(at, *_refined(chains, look, at, place[at]))


def _side(chains: Chains, look: Neighbors, offsets: range) -> LineFits:
    count = len(chains.points)
    return fit_side(moments_of(look.steps(chains, offsets), count, SIGMA, 1.0), chains.points)


def _refined(chains: Chains, look: Neighbors, at: Ints, place: Points) -> tuple[Points, Floats]:
    """Fit the two lines again without the points that the corner's own pixel has rounded.

    Returns
    -------
    place : float64 array of shape (k, 2)
    rounded : float64 array of shape (k,)
        Pixels from the corner within which points were left out.
    """
    turn = np.full(at.size, np.pi / 2)
    clear = np.full(at.size, CLEAR)
    for _ in range(REFINEMENTS):
        clear = np.clip(CLEAR * np.tan(turn / 2), CLEAR, CLEAR_MOST)
        before = _clear_line(chains, look, at, place, clear=clear, sign=-1)
        after = _clear_line(chains, look, at, place, clear=clear, sign=1)
        turn = _turn(before.direction, after.direction)
        better, crosses = _crossing(before, after)
        near = np.hypot(*(better - chains.points[at]).T) <= np.maximum(FARTHEST, clear)
        good = crosses & near & (before.count >= 3) & (after.count >= 3)
        place = np.where(good[:, None], better, place)
    return place, clear


def _clear_line(
    chains: Chains, look: Neighbors, at: Ints, place: Points, *, clear: Floats, sign: int
) -> LineFits:
    """Fit a line to the points of one side that lie clear of the corner."""
    steps = sign * np.arange(1, SIDE + CLEAR_STEPS + 1)[:, None]
    index, distance, exists = look.at(steps, at)
    offset = chains.points[index] - place
    gap = np.hypot(offset[..., 0], offset[..., 1])
    use = exists & (gap > clear)
    use &= np.cumsum(use, axis=0) <= SIDE
    # Squared: beside a corner, the points that are sure count far more than the others.
    weight = np.where(use, chains.weights[index] ** 2, 0.0) * np.exp(-0.5 * ((gap - clear) / SIGMA) ** 2)
    moments = [(weight * distance**power).sum(axis=0) for power in range(3)]
    sums = [(part[..., None] * offset).sum(axis=0) for part in (weight, weight * distance)]
    used = use.sum(axis=0)
    s0 = np.maximum(moments[0], 1e-12)
    spread = np.maximum(moments[2] - moments[1] ** 2 / s0, 1e-12)
    slope = (sums[1] - sums[0] * (moments[1] / s0)[:, None]) / spread[:, None]
    return LineFits(used, place + sums[0] / s0[:, None], _unit(slope), _unit(slope))


def fit_side(moments: Moments, own: Points) -> LineFits:
    """Fit a line and a parabola, in arc length, to points near each of the points `own` (n, 2)."""
    s0, s1, s2 = np.maximum(moments.weights[0], 1e-12), moments.weights[1], moments.weights[2]
    spread = np.maximum(s2 - s1 * s1 / s0, 1e-12)
    slope = (moments.ways[1] - moments.ways[0] * (s1 / s0)) / spread
    center = own + (moments.ways[0] / s0).T
    return LineFits(moments.used, center, _unit(slope.T), _unit(_curved_slope(moments, slope).T))


def _curved_slope(moments: Moments, slope: Floats) -> Floats:
    """Return the slope at distance 0 of the parabola that fits best, or the straight slope where unknown."""
    s0, s1, s2, s3, s4 = moments.weights
    determinant = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s2 * s3) + s2 * (s1 * s3 - s2 * s2)
    good = determinant > 1e-6 * np.maximum(s0, 1e-9) ** 3
    cof0, cof1, cof2 = -(s1 * s4 - s2 * s3), s0 * s4 - s2 * s2, -(s0 * s3 - s1 * s2)
    value = cof0 * moments.ways[0] + cof1 * moments.ways[1] + cof2 * moments.ways[2]
    return np.where(good, value / np.where(good, determinant, 1.0), slope)


def _unit(vectors: Points) -> Points:
    length = np.hypot(vectors[:, 0], vectors[:, 1])
    return vectors / np.maximum(length, 1e-12)[:, None]


def _turn(first: Points, second: Points) -> Floats:
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    dot = (first * second).sum(axis=1)
    turn: Floats = np.abs(np.arctan2(cross, dot))
    return turn


def _crossing(before: LineFits, after: LineFits) -> tuple[Points, Flags]:
    """Return where the two straight fits cross, and whether they do."""
    d, e = before.direction, after.direction
    cross = d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]
    crosses = np.abs(cross) > np.sin(np.radians(FRAME_TURN_DEG))
    gap = after.center - before.center
    along = (gap[:, 0] * e[:, 1] - gap[:, 1] * e[:, 0]) / np.where(crosses, cross, 1.0)
    return before.center + along[:, None] * d, crosses


def _beside_frame(look: Neighbors, framed: Flags) -> Flags:
    """Tell which points on the picture's frame have a neighbor that is not."""
    beside = np.zeros_like(framed)
    at = np.flatnonzero(framed)
    for offset in (1, -1):
        index, _, exists = look.at(offset, at)
        beside[at] |= exists & ~framed[index]
    return beside


def _sharpest(score: Floats, look: Neighbors, at: Ints) -> Ints:
    """Return those of the points `at` with the largest score among their neighbors; of equals, the first."""
    best = np.ones(at.size, dtype=bool)
    for offset in range(1, APART + 1):
        index, _, exists = look.at(-offset, at)
        best &= ~exists | (score[at] > score[index])
        index, _, exists = look.at(offset, at)
        best &= ~exists | (score[at] >= score[index])
    return at[best]
