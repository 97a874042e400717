"""Windows round each pixel: the darkest or lightest of its pixels, and which flags are set within it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
import numpy.typing as npt

__all__ = ["amid", "extreme", "local_range", "widened", "window_sums"]

Bits = TypeVar("Bits", npt.NDArray[np.uint8], npt.NDArray[np.uint16], npt.NDArray[np.bool_])


def extreme(values: npt.NDArray[np.uint8], pick: np.ufunc) -> npt.NDArray[np.uint8]:
    """Return the `np.maximum` or `np.minimum` over 3 x 3 pixels of each channel.

    Parameters
    ----------
    values : uint8 array of shape (h, w) or (h, w, c)
    pick : ufunc

    Returns
    -------
    uint8 array of the same shape
        The window is cut off at the picture's border.
    """
    tall = values.copy()
    pick(tall[1:], values[:-1], out=tall[1:])
    pick(tall[:-1], values[1:], out=tall[:-1])
    wide = tall.copy()
    pick(wide[:, 1:], tall[:, :-1], out=wide[:, 1:])
    pick(wide[:, :-1], tall[:, 1:], out=wide[:, :-1])
    return wide


def local_range(planes: Sequence[npt.NDArray[np.uint8]]) -> npt.NDArray[np.uint8]:
    """Return the largest difference (h, w) within 3 x 3 pixels, over all planes (h, w).

    Examples
    --------
    >>> local_range([np.array([[0, 0, 9, 9]], np.uint8), np.array([[5, 5, 5, 2]], np.uint8)]).tolist()
    [[0, 9, 9, 3]]
    """
    widest = np.zeros_like(planes[0])
    for plane in planes:
        high = extreme(plane, np.maximum)
        high -= extreme(plane, np.minimum)
        np.maximum(widest, high, out=widest)
    return widest


def widened(mask: Bits, reach: int) -> Bits:
    """Return for each pixel all bits, or flags, that are set within the reach each way.

    Parameters
    ----------
    mask : uint8, uint16 or bool array of shape (h, w)
    reach : int
        Pixels up, down, left and right, corners included.

    Examples
    --------
    >>> widened(np.array([[False, False, True, False, False]]), 1)[0].tolist()
    [False, True, True, True, False]
    """
    return _widened_down(_widened_down(mask, reach).T, reach).T


def amid(flags: npt.NDArray[np.bool_], reach: int) -> npt.NDArray[np.bool_]:
    """Return which pixels (h, w) have only set ones within the reach each way; none is beyond a side.

    Examples
    --------
    >>> amid(np.ones((3, 4), dtype=bool), 1)[1].tolist()
    [False, True, True, False]
    """
    inside = ~widened(~flags, reach)
    height, width = flags.shape
    inside[:reach] = inside[height - reach :] = False
    inside[:, :reach] = inside[:, width - reach :] = False
    return inside


def _widened_down(mask: Bits, reach: int) -> Bits:
    height, width = mask.shape
    tall = np.zeros((height + 2 * reach, width), dtype=mask.dtype)
    tall[reach : reach + height] = mask
    covered = 1
    while covered <= 2 * reach:  # doubled each time
        more = min(covered, 2 * reach + 1 - covered)
        tall = tall[:-more] | tall[more:]
        covered += more
    return tall


def window_sums(values: npt.NDArray[np.bool_], reach: int) -> npt.NDArray[np.int32]:
    """Return how many flags (h, w) are set within the reach each way; beyond a side there is none.

    Examples
    --------
    >>> window_sums(np.ones((2, 4), dtype=bool), 1).tolist()
    [[4, 6, 6, 4], [4, 6, 6, 4]]
    """
    return _row_sums(_row_sums(values, reach).T, reach).T


def _row_sums(values: npt.NDArray[np.bool_] | npt.NDArray[np.int32], reach: int) -> npt.NDArray[np.int32]:
    """Sum each row over a window; beyond the border there is nothing."""
    width = values.shape[1]
    total = np.pad(np.cumsum(values, axis=1, dtype=np.int32), ((0, 0), (1, 0)))
    last = np.minimum(np.arange(width) + reach + 1, width)
    sums: npt.NDArray[np.int32] = total[:, last] - total[:, np.maximum(np.arange(width) - reach, 0)]
    return sums
