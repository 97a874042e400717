"""What lossy compression does to colors: chroma bleeds over edges, rings beside them, and moves in steps."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma_chroma
from ..colorimetry.explain import dot, mixed
from .modes import Floats

__all__ = ["TINT_LUMA", "bleeds", "tints", "within_a_step"]

_BLEED_CHROMA = 16.0  # levels of Cb, Cr from what two known colors bleed into
_BLEED_LUMA = 20.0  # levels that luma overshoots
_BLEED_OVERSHOOT = 0.25  # of the difference, by which chroma does: blocks of 16 px ring at strong edges
TINT_LUMA = 4.0  # levels by which luma, at full resolution, strays in a tint
_TINT_CHROMA, _TINT_OVERSHOOT = 6.0, 0.1  # levels, and share of the strongest difference in chroma besides
_LUMA_STEP, _CHROMA_STEP = 2.0, 2.6  # levels: two savings round even areas by up to 1.6 and 2.3 (quality 60)


def bleeds(color: Floats, known: Floats, reach: float = _BLEED_CHROMA) -> bool:
    """Return whether a color has luma of one kind and chroma of another, as JPEG leaves them at edges.

    JPEG stores chroma at half the resolution, so that it passes an edge more slowly than luma and rings.
    """
    own, others = luma_chroma(color[None])[0], luma_chroma(known)
    first, second = np.triu_indices(len(others), k=1)
    start, end = others[first, 1:].T, others[second, 1:].T
    _, rest = mixed(own[1:, None], start, end, under=_BLEED_OVERSHOOT, over=_BLEED_OVERSHOOT)
    near = dot(rest, rest) < reach * reach
    low = np.minimum(others[first, 0], others[second, 0]) - _BLEED_LUMA
    high = np.maximum(others[first, 0], others[second, 0]) + _BLEED_LUMA
    return bool((near & (own[0] > low) & (own[0] < high)).any())


def tints(color: Floats, known: Floats) -> bool:
    """Return whether a color is a known one but for a little chroma, which rings along edges to others."""
    own, others = luma_chroma(color[None]), luma_chroma(known)
    strongest = np.sqrt(((others[:, None, 1:] - others[None, :, 1:]) ** 2).sum(axis=2)).max()
    strays = np.sqrt(((others[:, 1:] - own[:, 1:]) ** 2).sum(axis=1))
    near = strays < _TINT_CHROMA + _TINT_OVERSHOOT * strongest
    return bool((near & (np.abs(others[:, 0] - own[:, 0]) < TINT_LUMA)).any())


def within_a_step(color: Floats, others: Floats) -> npt.NDArray[np.bool_]:
    """Return which colors (k, 3) one step of JPEG's rounding can make of a color.

    An even area may come out in two neighboring steps; of dark and of grey colors an eye could tell them.
    """
    gaps = np.abs(luma_chroma(others) - luma_chroma(color[None]))
    near: npt.NDArray[np.bool_] = np.all(gaps < (_LUMA_STEP, _CHROMA_STEP, _CHROMA_STEP), axis=1)
    return near
