"""The mixing space: byte planes in which an edge pixel is a weighted mean of the two colors it lies between.

Opaque pictures mix in stored sRGB. Cut-out pictures mix in four channels, color multiplied by opacity and
opacity itself, so that the background is (0, 0, 0, 0) and no background color has to be made up. Compression
mixes luma and chroma apart: chroma bleeds over edges, rings beside them, and moves in steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma_axes, luma_chroma
from ..colorimetry.window import widened
from ..model.artwork import Artwork

__all__ = [
    "BINS",
    "CHANNELS",
    "ROUNDED",
    "Bytes",
    "Flags",
    "Mixing",
    "Waves",
    "in_metric",
    "mixing_planes",
    "near_labels",
    "within_a_step",
]

Bytes: TypeAlias = npt.NDArray[np.uint8]
Flags: TypeAlias = npt.NDArray[np.bool_]
Waves: TypeAlias = npt.NDArray[np.float32]

CHANNELS = 3  # of color; a cut-out picture has one more, of opacity
_OPAQUE = 251  # opacity of 255 from which a pixel votes for colors
_LEVEL_BITS = 6  # of the histogram, per channel
ROUNDED = 2.5
"""Levels of rounding: two savings round even areas by up to 1.6 in luma and 2.3 in chroma (quality 60); of
calm pixels of a clean picture it leaves 1.7 over three channels."""


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
        drop = np.iinfo(np.uint8).bits - _LEVEL_BITS
        key = (self.planes[0] >> drop).astype(np.int32)
        for plane in self.planes[1:CHANNELS]:
            key <<= _LEVEL_BITS
            key |= plane >> drop
        return key


BINS = 1 << (CHANNELS * _LEVEL_BITS)


def mixing_planes(artwork: Artwork) -> Mixing:
    """Bring a picture into the mixing space."""
    planes = [np.ascontiguousarray(artwork.rgb[..., channel]) for channel in range(CHANNELS)]
    if not artwork.has_alpha:
        return Mixing(tuple(planes), None)
    opacity = (artwork.alpha * np.float32(255) + np.float32(0.5)).astype(np.uint8)
    weight = opacity.astype(np.uint16)
    mixed = [((plane * weight + 255 // 2) // 255).astype(np.uint8) for plane in planes]
    return Mixing((*mixed, opacity), opacity >= _OPAQUE)


def in_metric(values: npt.NDArray[np.generic], *, lossy: bool) -> Waves:
    """Return values (c, n) in the channels in which shares of two colors are judged.

    Those of an opaque lossy picture are luma and chroma, of one length; others stay as they are.
    """
    waves: Waves = values.astype(np.float32)
    return np.stack(luma_axes(*waves)) if lossy and len(waves) == CHANNELS else waves


def within_a_step(color: npt.NDArray[np.float64], others: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Return which colors (k, 3) one step of JPEG's rounding can make of a color.

    An even area may come out in two neighboring steps; of dark and of grey colors an eye could tell them.
    """
    gaps = np.abs(luma_chroma(others) - luma_chroma(color[None]))
    near: npt.NDArray[np.bool_] = np.all(gaps < ROUNDED, axis=1)
    return near


def near_labels(labels: Bytes, count: int, reach: int) -> npt.NDArray[Any]:
    """Return for each pixel (h, w), as bits, which of so many labels, at most 16, are within reach."""
    few = count <= np.iinfo(np.uint8).bits  # half as much to widen
    bits = np.zeros(np.iinfo(labels.dtype).max + 1, dtype=np.uint8 if few else np.uint16)
    bits[:count] = 1 << np.arange(count)
    return widened(np.take(bits, labels), reach)
