"""Soft changes of color by their colors: whether there may be any, what is a shadow, how to split shading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .capture import Capture
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
    """What evening starts from: planes, calm pixels, the bin of each pixel, and how the picture came."""

    mixing: Mixing
    calm: Flags
    keys: npt.NDArray[np.int32]
    bins: Bins
    capture: Capture


def may_be_shaded(bins: Bins, capture: Capture) -> bool:
    """Return whether some of the commonest colors spread widely, as shading does, instead of standing alone.

    Flat colors that lie near to each other do so too; whether it is shading, their places tell.
    """
    least = _LEAST_SPREAD_LOSSY if capture.lossy else _LEAST_SPREAD
    least += _SPREAD_PER_SIGMA * capture.sigma
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
