"""How noisy a picture is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["noise_sigma"]

_ROWS = 400  # that many rows, spread over the plane, are enough
_LARGE_PX = 100_000  # from here on ...
_SPARSE = 8  # ... one in so many of those rows shows a clean drawing
_CLEAN_SHARE = 0.25  # of the sparse rows' pixels, far from the half from which there is noise
# A normal distribution's median absolute value is .6745 sigma; the kernel's norm is 6.
_NORM = 6.0 * 0.6745


def noise_sigma(plane: npt.NDArray[np.uint8]) -> float:
    """Return the noise of one channel (h, w) as a standard deviation in levels, 0 for a clean drawing.

    It is 0 as well for a plane of less than three pixels a side.

    After J. Immerkaer, "Fast Noise Variance Estimation", Computer Vision and Image Understanding 64(2),
    300-302 (1996), doi:10.1006/cviu.1996.0060, with the median instead of the mean, so that edges do not
    count; even slopes do not count either.

    Examples
    --------
    >>> flat = np.full((200, 200), 128.0)
    >>> noise_sigma(flat.astype(np.uint8))
    0.0
    >>> grainy = flat + np.random.default_rng(1).normal(0, 4, flat.shape)
    >>> round(noise_sigma(grainy.round().astype(np.uint8)))
    4
    """
    step = max(plane.shape[0] // _ROWS, 1)
    if plane.size >= _LARGE_PX and _share_of_noise(_response(plane, _SPARSE * step)) < _CLEAN_SHARE:
        return 0.0
    response = _response(plane, step)
    if _share_of_noise(response) < 0.5:  # then the median is 0
        return 0.0
    return float(np.median(response)) / _NORM


def _response(plane: npt.NDArray[np.uint8], step: int) -> npt.NDArray[np.int16]:
    """Return the absolute second difference along both axes, at every step-th row."""
    above, here, below = (plane[k : plane.shape[0] - 2 + k : step].astype(np.int16) for k in range(3))
    column: npt.NDArray[np.int16] = above - 2 * here + below
    response: npt.NDArray[np.int16] = np.abs(column[:, :-2] - 2 * column[:, 1:-1] + column[:, 2:])
    return response


def _share_of_noise(response: npt.NDArray[np.int16]) -> float:
    return np.count_nonzero(response) / max(response.size, 1)
