"""Smooth chains of points: a weighted quadratic in arc length, fitted round every point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Floats, Points
from .neighbors import Chains, Moments, Neighbors, moments_of

__all__ = ["Window", "smooth_chains"]


@dataclass(frozen=True, slots=True)
class Window:
    """How many points to each side are fitted, and the Gaussian's sigma in pixels of arc length."""

    half: int
    sigma: float


def smooth_chains(chains: Chains, window: Window) -> Points:
    """Return each point moved onto the quadratic that fits its neighbors best; it does not shrink curves.

    The ends of open chains stay where they are. Local regression after W. S. Cleveland, "Robust Locally
    Weighted Regression and Smoothing Scatterplots", JASA 74 (1979), in arc length instead of x.
    """
    steps = Neighbors.of(chains).steps(chains, range(-window.half, window.half + 1))
    moments = moments_of(steps, len(chains.points), window.sigma, window.sigma)
    moved = chains.points + _value_at_zero(moments)
    fixed = moments.used < 4
    ends = ~chains.closed & (chains.sizes > 0)
    fixed[chains.starts[:-1][ends]] = True
    fixed[chains.starts[1:][ends] - 1] = True
    moved[fixed] = chains.points[fixed]
    return moved


def _value_at_zero(moments: Moments) -> Points:
    """Solve the 3 x 3 normal equations of a quadratic for its constant term by Cramer's rule."""
    s0, s1, s2, s3, s4 = moments.weights
    minor0, minor1, minor2 = s2 * s4 - s3 * s3, s1 * s4 - s2 * s3, s1 * s3 - s2 * s2
    determinant = s0 * minor0 - s1 * minor1 + s2 * minor2
    good = determinant > 1e-9 * np.maximum(s0, 1e-12) ** 3
    numerator = moments.ways[0] * minor0 - moments.ways[1] * minor1 + moments.ways[2] * minor2
    value: Floats = numerator / np.where(good, determinant, 1.0)
    value[:, ~good] = 0.0
    return value.T
