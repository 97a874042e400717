"""Colors that are never calm enough: small patches, rounded by edges and compression on all sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.median import median
from .capture import Capture
from .labels import Unexplained
from .mixing import mixes_two
from .modes import Floats

__all__ = ["OpenPixels", "patch_color"]

Ints = npt.NDArray[np.int64]

_LEAST_RESIDUAL = 22.0  # levels that no mixture of known colors explains
_RESIDUAL_PER_SIGMA = 4.0
_CORE_REACH = 2  # pixels all round that are unexplained as well: edges, ringing and lines are narrower
_LEAST_CORE, _LEAST_CORE_LOSSY = 1, 12  # such pixels
_LEAST_SHARE = 0.0004  # of the art
_LEAST_PX = 24
_ONE_COLOR = 24.0  # levels within which half of the inner pixels lie
_LEAST_GAP = 10.0  # dE00 from every known color


@dataclass(frozen=True, slots=True)
class OpenPixels:
    """Edge pixels that no two known colors explain, and what is known of their picture.

    Parameters
    ----------
    rest : Unexplained
    known : float64 array of shape (k, c)
        Colors in the mixing space.
    width : int
        Of the picture.
    art_px : float
        Pixels that are not background.
    capture : Capture
    """

    rest: Unexplained
    known: Floats
    width: int
    art_px: float
    capture: Capture


def patch_color(pixels: OpenPixels) -> Floats | None:
    """Find one color (c,) that a patch of edge pixels shows and no two known colors mix, or None."""
    offsets, values, positions = pixels.rest.offsets, pixels.rest.values, pixels.rest.positions
    known, width = pixels.known, pixels.width
    least = _LEAST_RESIDUAL + _RESIDUAL_PER_SIGMA * pixels.capture.sigma
    strong = np.flatnonzero((offsets * offsets).sum(axis=1) > least * least)
    if len(strong) < max(_LEAST_SHARE * pixels.art_px, _LEAST_PX):
        return None
    if len(_amid(positions[strong], width, _CORE_REACH)) < (
        _LEAST_CORE_LOSSY if pixels.capture.lossy else _LEAST_CORE
    ):
        return None
    inner = values[strong[_amid(positions[strong], width, 1)]]
    color: Floats = median(inner)
    away = np.sqrt(((inner - color) ** 2).sum(axis=1))
    if float(median(away)) > _ONE_COLOR or mixes_two(color, known, least):
        return None
    gaps = ciede2000(srgb_to_lab(known[int(len(color) == 4) :, :3]), srgb_to_lab(color[:3]))
    return None if (gaps < _LEAST_GAP).any() else color


def _amid(positions: Ints, width: int, reach: int) -> Ints:
    """Return which of the pixels have all their neighbors within the reach among them."""
    first = int(positions.min())
    flags = np.zeros(int(positions.max()) - first + 1, dtype=bool)
    flags[positions - first] = True
    inner = np.arange(len(positions))
    for row in range(-reach, reach + 1):
        for column in range(-reach, reach + 1):
            at = positions[inner] - first + row * width + column
            inside = (at >= 0) & (at < len(flags))
            inner = inner[inside]
            inner = inner[flags[at[inside]]]
    return inner
