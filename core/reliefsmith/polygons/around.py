"""Pixels beside others: around them in eight directions, and behind those on the way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..model.arrays import Ints

__all__ = ["around", "behind"]

_AROUND = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1))


def around(pixels: Ints, shape: tuple[int, ...], reach: int) -> Iterator[Ints]:
    """Give what lies 1, 2, ... `reach` pixels from others, in eight directions, held within the picture.

    Parameters
    ----------
    pixels : int64 array of shape (n,)
        Flat positions.
    shape : (h, w)
        Of the picture.
    """
    row, column = np.divmod(pixels, shape[1])
    for step in range(1, reach + 1):
        for down, right in _AROUND:
            at = np.clip(row + step * down, 0, shape[0] - 1) * shape[1]
            yield at + np.clip(column + step * right, 0, shape[1] - 1)


def behind(pixels: Ints, near: Ints, shape: tuple[int, ...]) -> tuple[Ints, Ints]:
    """Return the pixels two behind each near one, as seen from others, and how far off the near ones are."""
    height, width = shape
    down, right = near // width - pixels // width, near % width - pixels % width
    reach = np.maximum(np.maximum(np.abs(down), np.abs(right)), 1)
    row = np.clip(near // width + 2 * down // reach, 0, height - 1)
    return row * width + np.clip(near % width + 2 * right // reach, 0, width - 1), reach
