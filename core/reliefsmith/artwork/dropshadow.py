"""Drop shadows of cut-out pictures: half-transparent, fading; what they lie under keeps its edge."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Bytes, Flags, Ints, Rgb
from ..model.artwork import CLEAR
from ..polygons.around import around, behind

__all__ = ["SOLID", "without_shadow"]

_DENSEST = 153  # opacity (0.6) of the densest shadow
SOLID = 247  # opacity from which paint is solid
_BEND = 4  # levels of second difference on a shadow's slope; edges bend by a third of their height
_MOST_SLOPE = 32  # levels over two pixels of it
_LEAST_SHARE = 0.002  # of the art that fading shadow takes; less is left as it is
_SOFT_PAINT_SHARE = 0.3  # of fading pixels denser than a shadow: paint with soft edges is no shadow
_EVERY = 8  # every so many rows are looked at first
_REACH_PX = 4  # from an edge pixel to the shadow beside it


def without_shadow(rgb: Rgb, alpha: Bytes) -> tuple[Rgb, Bytes]:
    """Clear a drop shadow, and take its share out of the edge pixels that lie over it.

    A shadow fades smoothly and is nowhere denser than 0.6. An edge pixel over shadow of opacity s that art
    covers by c has the opacity c + (1 - c) s, of which c is kept.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        Straight color.
    alpha : uint8 array of shape (h, w)

    Returns
    -------
    rgb, alpha : arrays
        The same ones where there is no shadow.
    """
    if min(alpha.shape) < 3 or not _fades(alpha, _EVERY) or not _fades(alpha, 1):
        return rgb, alpha
    smooth = np.zeros(alpha.size, dtype=bool)
    smooth[_smooth(alpha, 1)] = True
    flat = alpha.ravel()
    shadow = smooth & (flat > CLEAR) & (flat <= _DENSEST)
    ground = shadow | (flat <= CLEAR)
    edges = np.flatnonzero(~ground & (flat < 255))
    beside = _beside(ground, edges, alpha.shape)
    edges, beside = edges[beside >= 0], beside[beside >= 0]
    over, under = flat[edges].astype(np.float32) / 255, _carried_on(flat, ground, edges, beside, alpha.shape)
    cover = np.clip((over - under) / (1.0 - under), 0.0, 1.0)
    colors = rgb.reshape(-1, 3).copy()
    lit = colors[edges] * over[:, None] - colors[beside] * ((1.0 - cover) * under)[:, None]
    lit /= np.maximum(cover, 1 / 255)[:, None]
    colors[edges] = np.clip(lit + np.float32(0.5), 0.0, 255.0).astype(np.uint8)
    opacity = np.where(shadow, 0, flat).astype(np.uint8)
    opacity[edges] = (cover * 255 + np.float32(0.5)).astype(np.uint8)
    return colors.reshape(rgb.shape), opacity.reshape(alpha.shape)


def _fades(alpha: Bytes, every: int) -> bool:
    """Return whether enough pixels, in every n-th row, lie on a smooth slope as of a shadow."""
    at = _smooth(alpha, every)
    flat, width = alpha.ravel(), alpha.shape[1]
    sloped = (flat[at - 1] != flat[at + 1]) | (flat[at - width] != flat[at + width])
    own = flat[at[sloped]]
    thin = np.count_nonzero((own > CLEAR) & (own <= _DENSEST))
    dense = np.count_nonzero((own > _DENSEST) & (own < SOLID))
    least = _LEAST_SHARE * np.count_nonzero(alpha[::every] > CLEAR)
    return bool(thin >= max(least, 1.0) and dense < _SOFT_PAINT_SHARE * thin)


def _smooth(alpha: Bytes, every: int) -> Ints:
    """Return the flat positions of half-transparent pixels that lie on no edge, in every n-th row."""
    height, width = alpha.shape
    rows = alpha[1 : height - 1 : every, 1:-1]
    row, column = np.nonzero((rows > CLEAR) & (rows < SOLID))
    at: Ints = ((row * every + 1) * width + column + 1).astype(np.int64)
    flat = alpha.ravel()
    for step in (1, width):
        before, here, after = (flat[at + shift].astype(np.int16) for shift in (-step, 0, step))
        smooth = np.abs(before - 2 * here + after) <= _BEND
        at = at[smooth & (np.abs(after - before) <= _MOST_SLOPE)]
    return at


def _carried_on(
    flat: Bytes, ground: Flags, edges: Ints, beside: Ints, shape: tuple[int, ...]
) -> npt.NDArray[np.float32]:
    """Return the shadow's opacity 0 to 1 at each edge pixel, by its slope from the pixel two behind."""
    second, reach = behind(edges, beside, shape)
    near = flat[beside].astype(np.float32)
    slope = np.where(ground[second], near - flat[second], np.float32(0)) / 2
    return np.clip(near + slope * reach, 0, _DENSEST).astype(np.float32) / np.float32(255)


def _beside(ground: Flags, edges: Ints, shape: tuple[int, ...]) -> Ints:
    """Return the nearest pixel of shadow or clear ground to each edge pixel, -1 for none."""
    found = np.full(len(edges), -1, dtype=np.int64)
    for at in around(edges, shape, _REACH_PX):
        new = (found < 0) & ground[at]
        found[new] = at[new]
    return found
