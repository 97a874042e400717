"""Soft changes of color by their colors: whether there may be any, what is a shadow, how to split shading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .mixing import Flags, Mixing
from .modes import Bins, Floats, Ints

__all__ = ["Picture", "may_be_shaded", "shades", "split"]

_LOOKS = 40  # of the commonest colors
_NEIGHBORHOOD = 12.0  # levels
_SHADED_SHARE = 0.002  # of the calm pixels
_LEAST_SPREAD, _LEAST_SPREAD_LOSSY = 2.0, 3.0  # levels, standard deviation in a channel
_SPREAD_PER_SIGMA = 1.5
_BAND = 12.0  # CIELAB distance from the middle of a band within which most of it lies
_BAND_SHARE = 0.9
_MOST_BANDS = 6
_BAND_ROUNDS = 8
_SHADOW_REACH = 12.0  # levels of a shadow's color from a darker background
_DARKEST_SHADOW = 0.4  # of the background


@dataclass(frozen=True, slots=True)
class Picture:
    """What evening starts from: planes, calm pixels, their histogram, noise; pixels per source pixel."""

    mixing: Mixing
    calm: Flags
    keys: npt.NDArray[np.int32]
    bins: Bins
    sigma: float
    lossy: bool
    scale: float


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


def split(labs: Floats, weights: Floats) -> Ints:
    """Split a shaded area into the fewest bands whose colors lie near their middle.

    Parameters
    ----------
    labs : float64 array of shape (n, 3)
        CIELAB colors of the area.
    weights : float64 array of shape (n,)
        Pixels of each.

    Returns
    -------
    int64 array of shape (n,)
        Band of each color, from 0 on.
    """
    one = int(np.argmax(((labs - labs[0]) ** 2).sum(axis=1)))
    far = ((labs - labs[one]) ** 2).sum(axis=1)
    other = int(np.argmax(far))
    along = ((labs - labs[one]) * (labs[other] - labs[one])).sum(axis=1) / max(float(far[other]), 1e-9)
    band = np.zeros(len(labs), dtype=np.int64)
    for count in range(1, _MOST_BANDS + 1):
        band = np.minimum((along * count).astype(np.int64), count - 1)
        distance = np.zeros(len(labs))
        for _ in range(_BAND_ROUNDS):
            middles = np.stack([_mean(labs, weights, band == number) for number in range(count)])
            gaps = ((labs[:, None] - middles[None]) ** 2).sum(axis=2)
            band, distance = gaps.argmin(axis=1), np.sqrt(gaps.min(axis=1))
        if weights[distance < _BAND].sum() >= _BAND_SHARE * weights.sum():
            break
    return np.unique(band, return_inverse=True)[1].reshape(-1)


def _mean(values: Floats, weights: Floats, own: Flags) -> Floats:
    if not own.any():
        return np.full(values.shape[1], np.inf)
    share = weights[own] / weights[own].sum()
    mean: Floats = (values[own] * share[:, None]).sum(axis=0)
    return mean


def shades(colors: Floats, background: Floats) -> Flags:
    """Return which colors (k, 3) are the background in shadow: all channels darker by about one factor."""
    part = (colors * background).sum(axis=1) / max(float((background * background).sum()), 1.0)
    offset = np.abs(colors - part[:, None] * background).max(axis=1)
    shade: Flags = (part > _DARKEST_SHADOW) & (part < 1.0) & (offset < _SHADOW_REACH)
    return shade
