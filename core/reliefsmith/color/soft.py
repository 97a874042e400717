"""Soft changes of color by their colors: whether there may be any, what is a shadow, how to split shading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .mixing import Flags, Mixing
from .modes import Bins, Floats

__all__ = ["Picture", "may_be_shaded", "shades"]

_LOOKS = 40  # of the commonest colors
_NEIGHBORHOOD = 12.0  # levels
_SHADED_SHARE = 0.002  # of the calm pixels
_LEAST_SPREAD, _LEAST_SPREAD_LOSSY = 2.0, 3.0  # levels, standard deviation in a channel
_SPREAD_PER_SIGMA = 1.5
_SHADOW_REACH = 12.0  # levels of a shadow's color from a darker background
_DARKEST_SHADOW = 0.4  # of the background


@dataclass(frozen=True, slots=True)
class Picture:
    """What evening starts from: planes, calm pixels, their histogram, noise; pixels per source pixel.

    Lossy is what ripples; saved so, color is held at half the size.
    """

    mixing: Mixing
    calm: Flags
    keys: npt.NDArray[np.int32]
    bins: Bins
    sigma: float
    lossy: bool
    saved_lossy: bool
    scale: float

    @property
    def drawn(self) -> float:
        """Pixels over which an edge of color is spread at most, per pixel of one as sharp as drawn."""
        return self.scale * 2 if self.saved_lossy else self.scale


def may_be_shaded(bins: Bins, *, sigma: float, lossy: bool) -> bool:
    """Return whether some of the commonest colors spread widely, as shading does, instead of standing alone.

    Flat colors that lie near to each other do so too; whether it is shading, their places tell.
    """
    least = (_LEAST_SPREAD_LOSSY if lossy else _LEAST_SPREAD) + _SPREAD_PER_SIGMA * sigma
    needed = _SHADED_SHARE * bins.counts.sum()
    for heavy in np.argsort(-bins.counts, kind="stable")[:_LOOKS]:  # over colors
        near = (np.abs(bins.means - bins.means[heavy]) < _NEIGHBORHOOD).all(axis=1)
        weight = bins.counts[near]
        total = weight.sum()
        if total < needed:
            break
        offset = bins.means[near] - (bins.means[near] * weight[:, None]).sum(axis=0) / total
        if ((offset * offset * weight[:, None]).sum(axis=0) / total).max() > least * least:
            return True
    return False


def shades(colors: Floats, background: Floats) -> Flags:
    """Return which colors (k, 3) are the background in shadow: all channels darker by about one factor."""
    part = (colors * background).sum(axis=1) / max(float((background * background).sum()), 1.0)
    offset = np.abs(colors - part[:, None] * background).max(axis=1)
    shade: Flags = (part > _DARKEST_SHADOW) & (part < 1.0) & (offset < _SHADOW_REACH)
    return shade
