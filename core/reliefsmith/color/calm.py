"""Calm pixels: those whose neighborhood shows one color, so that they can vote for it."""

from __future__ import annotations

import numpy as np

from ..chroma import noise_sigma
from ..chroma.window import extreme
from .mixing import Bytes, Flags, Mixing

__all__ = ["LEAST_RANGE", "calm_pixels", "is_rippled", "local_range", "noise_level"]

LEAST_RANGE = 9  # levels: JPEG ripple in flat areas stays below
_RIPPLE_SHARE = 0.4  # of the edge pixels; on open art JPEG (quality 60) had 0.6 to 2.3, clean ones up to 0.2
_MOST_RANGE = 64  # a wilder picture has no flat colors
_RANGE_PER_SIGMA = 7.0  # the range of nine noisy values rarely passes it


def calm_pixels(mixing: Mixing, ranges: Bytes, sigma: float, *, enlarged: float = 1.0) -> Flags:
    """Return which pixels (h, w) differ little from their eight neighbors in every channel.

    `ranges` is what `local_range` gives. Where the picture was `enlarged`, each step of a ripple is as many
    times smaller; the limit follows by the square root, or small areas had no calm pixels left.

    Pixels on an anti-aliased edge are never calm, also not along a straight one.
    """
    limit = min(max(LEAST_RANGE, round(_RANGE_PER_SIGMA * sigma)), _MOST_RANGE)
    calm: Flags = ranges <= limit / enlarged**0.5
    if mixing.opaque is not None:
        calm &= mixing.opaque
    return calm


def is_rippled(ranges: Bytes) -> bool:
    """Return whether flat areas ripple beside edges, as lossy compression and noise leave them.

    A clean drawing has edges and flat pixels and little in between.
    """
    edges = np.count_nonzero(ranges > LEAST_RANGE)
    ripple = np.count_nonzero(ranges) - edges
    return bool(ripple > _RIPPLE_SHARE * edges)


def local_range(mixing: Mixing) -> Bytes:
    """Return the largest difference (h, w) within the 3 x 3 window, over all channels."""
    widest = np.zeros(mixing.shape, np.uint8)
    for plane in mixing.planes:
        high = extreme(plane, np.maximum)
        high -= extreme(plane, np.minimum)
        np.maximum(widest, high, out=widest)
    return widest


def noise_level(mixing: Mixing) -> float:
    """Return the noise sigma in levels, 0 for a clean drawing: the middle one of the three channels."""
    return sorted(noise_sigma(plane) for plane in mixing.planes[:3])[1]
