"""Working size: how much a picture is reduced or enlarged, by its size alone."""

from __future__ import annotations

import numpy as np
from PIL import Image

from ..colorimetry.window import extreme

__all__ = ["enlarged", "enlargement", "reduction"]

LEAST_PX = 1000  # of the longest side after a reduction: 0.1 mm a pixel on a piece of 100 mm
_GOAL_PX = 1250  # far above this nothing that prints is gained, only time
_ENLARGE_BELOW = ((350, 3), (700, 2))  # longest side in px -> factor, found on open art; 4 rounds corners off


def reduction(size: tuple[int, int], *, powers_of_two: bool) -> int:
    """Return the integer factor that brings the longest side nearest to 1250 px but never under 1000.

    At 2000 px and more a picture is reduced; no result has more than 2000 px.

    Parameters
    ----------
    size : (int, int)
    powers_of_two : bool
        JPEG pictures are reduced by powers of two only, which divide their blocks of 8 x 8 px alike.

    Examples
    --------
    >>> reduction((3000, 2000), powers_of_two=True), reduction((6000, 6000), powers_of_two=False)
    (2, 5)
    """
    longest = max(size)
    most = max(longest // LEAST_PX, 1)
    if powers_of_two:
        return 1 << (most.bit_length() - 1)
    ratio = longest / _GOAL_PX
    lower = max(int(ratio), 1)
    nearest = lower + int(ratio * ratio > lower * (lower + 1))  # as a factor, not as a difference
    return min(nearest, most)


def enlargement(size: tuple[int, int]) -> int:
    """Return the integer factor by which a small picture is enlarged.

    Examples
    --------
    >>> enlargement((200, 120)), enlargement((1024, 1024))
    (3, 1)
    """
    return next((factor for below, factor in _ENLARGE_BELOW if max(size) < below), 1)


def enlarged(image: Image.Image, factor: int) -> Image.Image:
    """Enlarge by an integer factor with a cubic kernel, alpha multiplied in; pixel centers stay.

    The kernel overshoots beside edges. No value leaves the range of the 3 x 3 source pixels round it: a ring
    of another flat color would else stand inside the edge, as paper white does within a stroke near white.
    """
    if factor == 1:
        return image
    size = (image.size[0] * factor, image.size[1] * factor)
    source = np.asarray(image)
    smooth = np.array(image.resize(size, Image.Resampling.BICUBIC))
    rows = smooth.reshape(len(source), factor, -1)
    for pick, clip in ((np.minimum, np.maximum), (np.maximum, np.minimum)):
        end = extreme(source, pick).repeat(factor, axis=1).reshape(len(source), 1, -1)
        clip(rows, end, out=rows)
    return Image.fromarray(smooth)
