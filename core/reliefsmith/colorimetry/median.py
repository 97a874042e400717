"""Medians by one sort."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["median"]


def median(values: npt.NDArray[Any]) -> npt.NDArray[np.float64]:
    """Return the median along the first axis, the mean of the two middle values of an even number.

    Parameters
    ----------
    values : array of shape (n, ...)
        n at least 1, without nan.

    Notes
    -----
    The array library's own gives the same numbers, but loads its masked arrays when it is first called.

    Examples
    --------
    >>> float(median(np.array([3, 1, 2, 10])))
    2.5
    """
    ranked = np.sort(values, axis=0).astype(np.float64, copy=False)
    middle: npt.NDArray[np.float64] = (ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]) / 2
    return middle
