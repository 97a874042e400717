"""Calm pixels: those whose neighborhood shows one color, so that they can vote for it."""

from __future__ import annotations

import numpy as np

from ..colorimetry import level_of, noise_sigma
from ..colorimetry.median import median
from ..colorimetry.window import extreme
from .mixing import Bytes, Flags, Mixing

__all__ = ["LEAST_RANGE", "calm_pixels", "is_rippled", "local_range", "noise_level", "softening"]

LEAST_RANGE = 9  # levels: JPEG ripple in flat areas stays below
_RIPPLE_SHARE = 0.4  # of the edge pixels; on open art JPEG (quality 60) had 0.6 to 2.3, clean ones up to 0.2
_EDGE_STEP = 40  # levels over two pixels that only edges have, no shadow
_EDGE_ROWS = 4  # every so many rows are looked at
_LEAST_EDGE_PX = 50
_SHARP = 2.0  # slope by bend at edges as drawn; enlarging multiplies it by its factor
_LEAST_SOFTENING = 2.5  # on open art what was not enlarged has 1, compressed up to 2.4; three times, from 2.7
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


def softening(mixing: Mixing) -> float:
    """Return over how many pixels each one that was drawn spreads, as in an enlarged picture; 1 if sharp.

    An edge that was drawn bends as sharply as it rises, one that was enlarged rises evenly over its pixels.
    Judged by luma, since compression softens chroma.
    """
    level = level_of(np.stack([plane[::_EDGE_ROWS] for plane in mixing.planes[:3]], axis=-1))
    before, here, after = level[:, :-2], level[:, 1:-1], level[:, 2:]
    step = np.abs(after - before)
    edge = step >= _EDGE_STEP
    if np.count_nonzero(edge) < _LEAST_EDGE_PX:
        return 1.0
    bend = np.abs(before - 2 * here + after)[edge]
    spread = float(median(step[edge])) / max(float(median(bend)), 1.0) / _SHARP
    return spread if spread >= _LEAST_SOFTENING else 1.0


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
