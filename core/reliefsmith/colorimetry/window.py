"""The darkest or lightest of the pixels round each."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["extreme"]


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
