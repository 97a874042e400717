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

from ..model.arrays import Flags, Ints, Rgb

__all__ = ["commonest", "counted", "dots", "folded", "packed"]

Floats: TypeAlias = npt.NDArray[np.float32]

_REACH = 3
"""Half the width of a window, without its middle, in px."""
_DOTS = 0.04
"""Share of alternating pixels in a window from which the pixel in its middle is one of a dithered area."""
_DOTTED, _ALTERNATING = 0.08, 0.3
"""Share of a dithered picture, at least, where that share of a window alternates: made ones had .12 and more,
ripples of compression up to .06."""
_EVENLY = 0.2
"""Lower quartile of the variance of means of 4 x 4 px in windows of dots, by what dots strewn at random have:
theirs is .4, and windows that an edge crosses have more."""
_LEAST = 0.3
"""Share of a window that must be dithered for its mean to count."""
_CALMER = 0.5
"""A neighboring window is taken where its variance is less than that share of the pixel's own."""
_LEVELS = 50.0
"""Variance, in square levels, below which nothing is calmer."""


def packed(rgb: Rgb) -> npt.NDArray[np.int32]:
    """Return each color (..., 3) as one number."""
    return (rgb @ np.array([65536, 256, 1], dtype=np.int32)).astype(np.int32, copy=False)


def counted(colors: npt.NDArray[np.int32]) -> tuple[npt.NDArray[np.int32], Ints]:
    """Return each exact color, as one number, and how often it occurs."""
    ranked = np.sort(colors.ravel())
    starts = np.flatnonzero(np.append(True, ranked[1:] != ranked[:-1]))
    return ranked[starts], np.diff(starts, append=len(ranked))


def commonest(rgb: Rgb) -> npt.NDArray[np.int16]:
    """Return the commonest exact color (3,) of pixels (..., 3)."""
    values, counts = counted(packed(rgb))
    color = int(values[counts.argmax()])
    return np.array([color >> 16, color >> 8 & 255, color & 255], dtype=np.int16)


def _alternating(colors: npt.NDArray[np.int32]) -> Flags:
    """Return which pixels of pictures (..., h, w) of exact colors stand between two equal ones of another."""
    found = np.zeros(colors.shape, dtype=bool)
    for axis in (-1, -2):
        line, there = np.moveaxis(colors, axis, -1), np.moveaxis(found, axis, -1)
        middle = line[..., 1:-1]
        there[..., 1:-1] |= (line[..., :-2] == line[..., 2:]) & (middle != line[..., 2:])
    return found


def dots(tiles: Rgb, colors: npt.NDArray[np.int32]) -> tuple[bool, bool]:
    """Return whether colors alternate evenly in part of tiles, and whether all is strewn by chance.

    Parameters
    ----------
    tiles : uint8 array of shape (n, s, s, 3)
    colors : int32 array of shape (n, s, s)
        The same as `packed` gives them.
    """
    block = 2 * _REACH + 2
    whole = colors.shape[1] // block * block
    alternate = _blocks(_alternating(colors)[:, :whole, :whole].astype(np.float64), block)
    levels = tiles[:, :whole, :whole].sum(axis=-1, dtype=np.float64)
    within = _blocks(levels, block)
    by_chance = within.var(axis=-1) * 3.0 / (block * block - 1)  # of four means of a quarter each
    ratio = _blocks(_blocks(levels, block // 2).mean(axis=-1), 2).var(axis=-1) / np.maximum(by_chance, 1e-9)
    square = within.reshape(*within.shape[:-1], block, block)
    striped = (np.ptp(square, axis=-1) == 0).all(axis=-1) | (np.ptp(square, axis=-2) == 0).all(axis=-1)
    dotted = (alternate.mean(axis=-1) >= _ALTERNATING) & ~striped
    dithered = dotted.mean() >= _DOTTED and np.percentile(ratio[dotted], 25) <= _EVENLY
    return bool(dithered), bool(np.percentile(ratio, 25) > _EVENLY)


def _blocks(values: npt.NDArray[np.float64], side: int) -> npt.NDArray[np.float64]:
    """Return square blocks of tiles (n, s, s) as rows of values, (n, s / side, s / side, side * side)."""
    tiles, rows, columns = values.shape[0], values.shape[1] // side, values.shape[2] // side
    cut = values.reshape(tiles, rows, side, columns, side).transpose(0, 1, 3, 2, 4)
    return cut.reshape(tiles, rows, columns, side * side)


def folded(rgb: Rgb, opaque: Flags | None = None) -> Rgb:
    """Return a dithered picture (h, w, 3) with its dots made one color; what is not dithered stays.

    Clear pixels, not in `opaque` (h, w), lend no color to others.
    """
    alternate = _alternating(packed(rgb)).astype(np.float32)
    area = _window_sum(alternate) >= _DOTS * (2 * _REACH + 1) ** 2
    if opaque is not None:
        area &= opaque
    weight = area.astype(np.float32)
    count = np.maximum(_window_sum(weight), 1.0)
    values = rgb.astype(np.float32)
    mean = np.stack([_window_sum(values[..., k] * weight) for k in range(3)], axis=-1) / count[..., None]
    square = _window_sum((values * values).sum(axis=-1) * weight) / count
    spread = square - (mean * mean).sum(axis=-1)
    spread[count < _LEAST * (2 * _REACH + 1) ** 2] = np.inf
    best, least = mean.copy(), np.where(np.isfinite(spread), _CALMER * spread - _LEVELS, spread)
    rows, columns = (np.arange(side) for side in rgb.shape[:2])
    for down in (-_REACH, 0, _REACH):
        for right in (-_REACH, 0, _REACH):
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
        wide = np.pad(values, [(_REACH, _REACH) if k == axis else (0, 0) for k in (0, 1)], mode="edge")
        line = np.moveaxis(wide, axis, 0)
        count = values.shape[axis]
        total = line[:count].copy()
        for k in range(1, 2 * _REACH + 1):
            total += line[k : k + count]
        values = np.moveaxis(total, 0, axis)
    return values
