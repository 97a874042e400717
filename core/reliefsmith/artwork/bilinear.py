"""Pictures between their pixels."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Floats

__all__ = ["sampled"]


def sampled(picture: npt.NDArray[np.uint8], at: Floats) -> Floats:
    """Return brightness, or color, at pixels (..., 2), between pixels bilinear; outside, that of the nearest.

    Parameters
    ----------
    picture : array of shape (h, w) or (h, w, 3)
    at : array of shape (..., 2)
        Column and row in px, (0, 0) at the upper left corner of the upper left pixel.
    """
    height, width = picture.shape[:2]
    x = np.clip(at[..., 0] - 0.5, 0, width - 1.001)
    y = np.clip(at[..., 1] - 0.5, 0, height - 1.001)
    column, row = x.astype(int), y.astype(int)
    shape = (*x.shape, *(1,) * (picture.ndim - 2))
    right, down = (x - column).reshape(shape), (y - row).reshape(shape)
    upper = picture[row, column] * (1 - right) + picture[row, column + 1] * right
    lower = picture[row + 1, column] * (1 - right) + picture[row + 1, column + 1] * right
    mixed: Floats = upper * (1 - down) + lower * down
    return mixed
