"""Dithered pictures: colors that a palette lacks, shown by dots of those that it has, made colors again.

Where a picture is dithered, one exact color stands to the left and right of a dot of another, or above and
below; paint and its edges do not alternate so. The mean over a window gives the color that was meant. Beside
an edge it is taken from that neighboring window in which the dots vary least, which is the one on the pixel's
own side (after M. Kuwahara et al., "Processing of RI-angiocardiographic images", 1976; from memory).
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ..model.arrays import Rgb

__all__ = ["REACH", "alternating", "folded", "packed"]

Flags: TypeAlias = npt.NDArray[np.bool_]
Floats: TypeAlias = npt.NDArray[np.float32]

REACH = 3
"""Half the width of a window, without its middle, in px."""
_DOTS = 0.04
"""Share of alternating pixels in a window from which the pixel in its middle is one of a dithered area."""
_LEAST = 0.3
"""Share of a window that must be dithered for its mean to count."""
_CALMER = 0.5
"""A neighboring window is taken where its variance is less than that share of the pixel's own."""
_LEVELS = 50.0
"""Variance, in square levels, below which nothing is calmer."""


def packed(rgb: Rgb) -> npt.NDArray[np.int32]:
    """Return each color (..., 3) as one number."""
    return (rgb @ np.array([65536, 256, 1], dtype=np.int32)).astype(np.int32, copy=False)


def alternating(colors: npt.NDArray[np.int32]) -> Flags:
    """Return which pixels of pictures (..., h, w) of exact colors stand between two equal ones of another."""
    found = np.zeros(colors.shape, dtype=bool)
    for axis in (-1, -2):
        line, there = np.moveaxis(colors, axis, -1), np.moveaxis(found, axis, -1)
        middle = line[..., 1:-1]
        there[..., 1:-1] |= (line[..., :-2] == line[..., 2:]) & (middle != line[..., 2:])
    return found


def folded(rgb: Rgb, opaque: Flags | None = None) -> Rgb:
    """Return a dithered picture (h, w, 3) with its dots made one color; what is not dithered stays.

    Clear pixels, not in `opaque` (h, w), lend no color to others.
    """
    dots = alternating(packed(rgb)).astype(np.float32)
    area = _window_sum(dots) >= _DOTS * (2 * REACH + 1) ** 2
    if opaque is not None:
        area &= opaque
    weight = area.astype(np.float32)
    count = np.maximum(_window_sum(weight), 1.0)
    values = rgb.astype(np.float32)
    mean = np.stack([_window_sum(values[..., k] * weight) for k in range(3)], axis=-1) / count[..., None]
    square = _window_sum((values * values).sum(axis=-1) * weight) / count
    spread = square - (mean * mean).sum(axis=-1)
    spread[count < _LEAST * (2 * REACH + 1) ** 2] = np.inf
    best, least = mean.copy(), np.where(np.isfinite(spread), _CALMER * spread - _LEVELS, spread)
    rows, columns = (np.arange(side) for side in rgb.shape[:2])
    for down in (-REACH, 0, REACH):
        for right in (-REACH, 0, REACH):
            beside = np.ix_(
                np.clip(rows + down, 0, len(rows) - 1), np.clip(columns + right, 0, len(columns) - 1)
            )
            calmer = spread[beside] < least
            least[calmer], best[calmer] = spread[beside][calmer], mean[beside][calmer]
    result = rgb.copy()
    result[area] = np.rint(best[area]).astype(np.uint8)
    return result


def _window_sum(values: Floats) -> Floats:
    """Return the sum over the window round each pixel (h, w); the picture's rim goes on outside."""
    for axis in (0, 1):
        wide = np.pad(values, [(REACH, REACH) if k == axis else (0, 0) for k in (0, 1)], mode="edge")
        line = np.moveaxis(wide, axis, 0)
        count = values.shape[axis]
        total = line[:count].copy()
        for k in range(1, 2 * REACH + 1):
            total += line[k : k + count]
        values = np.moveaxis(total, 0, axis)
    return values
