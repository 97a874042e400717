"""Pictures that were blown up without smoothing: every pixel of the small one a block of equal pixels.

Their edges are stairs, and the mixed pixels along an edge became blocks that pass for flat color. Shrunk back
they are what they were. Pixel art is drawn in such blocks and stays: its edges mix nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
from PIL import Image

from .dither import packed

__all__ = ["shrunk"]

_LINES = 12  # rows, and columns, that are looked at first
_MIXES = 6  # shades between the same two colors: an anti-aliased edge has more, pixel art fewer


def shrunk(image: Image.Image) -> tuple[Image.Image, int]:
    """Return the picture with each of its blocks as one pixel, and the side of the blocks in pixels.

    Parameters
    ----------
    image : PIL image
        Loaded, of any mode.

    Returns
    -------
    PIL image, int
        The picture itself and 1 where it is not made of blocks, or its edges mix no colors.
    """
    side = _side(image)
    if side == 1:
        return image, 1
    small = image.resize((image.width // side, image.height // side), Image.Resampling.NEAREST)
    if small.resize(image.size, Image.Resampling.NEAREST).tobytes() != image.tobytes():
        return image, 1
    return (small, side) if _mixes_along_edges(small) else (image, 1)


def _side(image: Image.Image) -> int:
    """Return the largest side that blocks may have by the places where some rows and columns change."""
    side = 0
    for line in _lines(image):
        changes = np.flatnonzero((line[1:] != line[:-1]).any(axis=1)) + 1
        side = int(np.gcd.reduce(np.append(changes, (side, len(line)))))
        if side == 1:
            break
    return side


def _lines(image: Image.Image) -> Iterator[npt.NDArray[np.uint8]]:
    """Yield rows and columns in turn, the middle ones first, each as (n, channels)."""
    order = sorted(range(1, _LINES), key=lambda number: abs(2 * number - _LINES))
    for number in order:
        x, y = image.width * number // _LINES, image.height * number // _LINES
        for box in ((0, y, image.width, y + 1), (x, 0, x + 1, image.height)):
            line = np.asarray(image.crop(box))
            yield line.reshape(max(line.shape[:2]), -1).view(np.uint8)


def _mixes_along_edges(small: Image.Image) -> bool:
    """Return whether many shades lie between the two colors that border on each other most often."""
    rgb = np.asarray(small.convert("RGB")).astype(np.int64)
    both = [
        np.stack((lines[:, :-2], lines[:, 1:-1], lines[:, 2:])).reshape(3, -1, 3)
        for lines in (rgb, rgb.swapaxes(0, 1))
    ]
    first, middle, last = np.concatenate(both, axis=1)
    between = ((middle - first) * (last - middle) >= 0).all(axis=1)
    between &= (middle != first).any(axis=1) & (middle != last).any(axis=1)
    if not between.any():
        return False
    one, other = (packed(ends[between]).astype(np.int64) for ends in (first, last))
    pairs = (np.minimum(one, other) << 24) + np.maximum(one, other)
    _, place, count = np.unique(pairs, return_inverse=True, return_counts=True)
    commonest = place == int(np.argmax(count))
    return len(np.unique(packed(middle[between][commonest]))) >= _MIXES
