"""The mixing space: byte planes in which an edge pixel is a weighted mean of the two colors it lies between.

Opaque pictures mix in stored sRGB. Cut-out pictures mix in four channels, color multiplied by opacity and
opacity itself, so that the background is (0, 0, 0, 0) and no background color has to be made up. Compression
mixes luma and chroma apart: chroma bleeds over edges, rings beside them, and moves in steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma_chroma
from ..model.artwork import Artwork

__all__ = [
    "BINS",
    "Bits",
    "Bytes",
    "Flags",
    "Mixing",
    "mixing_planes",
    "widened",
    "within_a_step",
]

Bytes: TypeAlias = npt.NDArray[np.uint8]
Flags: TypeAlias = npt.NDArray[np.bool_]
Bits = TypeVar("Bits", npt.NDArray[np.uint8], npt.NDArray[np.uint16], npt.NDArray[np.bool_])

_OPAQUE = 251  # opacity of 255 from which a pixel votes for colors
_LEVEL_BITS = 6  # of the histogram, per channel
_LUMA_STEP, _CHROMA_STEP = 2.0, 2.6  # levels: two savings round even areas by up to 1.6 and 2.3 (quality 60)


@dataclass(frozen=True, slots=True)
class Mixing:
    """A picture in the mixing space.

    Parameters
    ----------
    planes : tuple of uint8 arrays of shape (h, w)
        Three, or four for a cut-out picture.
    opaque : bool array of shape (h, w) or None
        Pixels that show one color undiluted by transparency; None means all.
    """

    planes: tuple[Bytes, ...]
    opaque: Flags | None

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width."""
        height, width = self.planes[0].shape
        return height, width

    def keys(self) -> npt.NDArray[np.int32]:
        """Return the histogram bin, 6 bits a channel, of each pixel (h, w)."""
        drop = 8 - _LEVEL_BITS
        key = (self.planes[0] >> drop).astype(np.int32)
        for plane in self.planes[1:3]:
            key <<= _LEVEL_BITS
            key |= plane >> drop
        return key


BINS = 1 << (3 * _LEVEL_BITS)


def mixing_planes(artwork: Artwork) -> Mixing:
    """Bring a picture into the mixing space."""
    planes = [np.ascontiguousarray(artwork.rgb[..., channel]) for channel in range(3)]
    if not artwork.has_alpha:
        return Mixing(tuple(planes), None)
    opacity = (artwork.alpha * np.float32(255) + np.float32(0.5)).astype(np.uint8)
    weight = opacity.astype(np.uint16)
    mixed = [((plane * weight + 255 // 2) // 255).astype(np.uint8) for plane in planes]
    return Mixing((*mixed, opacity), opacity >= _OPAQUE)


def within_a_step(color: npt.NDArray[np.float64], others: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Return which colors (k, 3) one step of JPEG's rounding can make of a color.

    An even area may come out in two neighboring steps; of dark and of grey colors an eye could tell them.
    """
    gaps = np.abs(luma_chroma(others) - luma_chroma(color[None]))
    near: npt.NDArray[np.bool_] = np.all(gaps < (_LUMA_STEP, _CHROMA_STEP, _CHROMA_STEP), axis=1)
    return near


def widened(mask: Bits, reach: int) -> Bits:
    """Return for each pixel (h, w) all bits, or flags, that are set within the reach each way."""
    return _widened_down(_widened_down(mask, reach).T, reach).T


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
