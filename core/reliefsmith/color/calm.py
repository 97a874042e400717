"""Calm pixels: those whose neighborhood shows one color, so that they can vote for it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .mixing import Bytes, Flags, Mixing

__all__ = ["calm_pixels", "local_range", "noise_level"]

_LEAST_RANGE = 9  # levels: JPEG ripple in flat areas stays below
_RANGE_PER_SIGMA = 7.0  # the range of nine noisy values rarely passes it
_NOISE_ROWS = 400  # rows that are looked at for noise
# A normal distribution's median absolute value is .6745 sigma; the kernel's norm is 6.
_NOISE_NORM = 6.0 * 0.6745


def calm_pixels(mixing: Mixing, sigma: float) -> Flags:
    """Return which pixels (h, w) differ little from their eight neighbors in every channel.

    Pixels on an anti-aliased edge are never calm, also not along a straight one.
    """
    limit = max(_LEAST_RANGE, round(_RANGE_PER_SIGMA * sigma))
    calm: Flags = local_range(mixing) <= limit
    if mixing.opaque is not None:
        calm &= mixing.opaque
    return calm


def local_range(mixing: Mixing) -> Bytes:
    """Return the largest difference (h, w) within the 3 x 3 window, over all channels."""
    widest = np.zeros(mixing.shape, np.uint8)
    for plane in mixing.planes:
        high = _window(plane, np.maximum)
        high -= _window(plane, np.minimum)
        np.maximum(widest, high, out=widest)
    return widest


def noise_level(mixing: Mixing) -> float:
    """Return the noise sigma in levels, 0 for a clean drawing.

    After J. Immerkaer, "Fast Noise Variance Estimation", Computer Vision and Image Understanding 64(2),
    300-302 (1996), with the median instead of the mean, so that edges do not count.
    """
    step = max(mixing.shape[0] // _NOISE_ROWS, 1)
    found = [_noise(plane, step) for plane in mixing.planes[:3]]
    return float(sorted(found)[1])


def _window(plane: Bytes, pick: np.ufunc) -> Bytes:
    """Apply a maximum or minimum over 3 x 3 pixels; the window is cut off at the picture's border."""
    tall = plane.copy()
    pick(tall[1:], plane[:-1], out=tall[1:])
    pick(tall[:-1], plane[1:], out=tall[:-1])
    wide = tall.copy()
    pick(wide[:, 1:], tall[:, :-1], out=wide[:, 1:])
    pick(wide[:, :-1], tall[:, 1:], out=wide[:, :-1])
    return wide


def _noise(plane: Bytes, step: int) -> float:
    above, here, below = (plane[k : plane.shape[0] - 2 + k : step].astype(np.int16) for k in range(3))
    column: npt.NDArray[np.int16] = above - 2 * here + below
    response = np.abs(column[:, :-2] - 2 * column[:, 1:-1] + column[:, 2:])
    return float(np.median(response)) / _NOISE_NORM
