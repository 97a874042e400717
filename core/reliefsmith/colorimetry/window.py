"""Windows round each pixel: the darkest or lightest of its pixels, and which flags are set within it."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

__all__ = ["amid", "extreme", "widened"]

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
    inside[:reach] = inside[-reach:] = False
    inside[:, :reach] = inside[:, -reach:] = False
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
