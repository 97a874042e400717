"""Modes: the colors round which the calm pixels gather."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from .mixing import BINS, CHANNELS, Flags, Mixing

__all__ = ["MOST_LOOKS", "NO_CLUSTER", "Bins", "Clusters", "count_bins", "find_clusters"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

NO_CLUSTER = 255
MOST_LOOKS = 64  # of the heaviest colors: 325 pictures had up to 44, photographs more than anybody prints
_LEAST_SEED_PX = 2  # a lighter bin starts no mode of its own
_RADIUS = 1.5  # dE00: a wider one walks from a color to its neighbor
_RADIUS_PER_SIGMA = 0.5
_SHIFTS = 3  # mean-shift steps; modes hardly move after that
_PEAK_SHARE = 0.25  # bins above this share of the peak give the color: clean art returns its exact value
_LAB_REACH = 8.0  # dE00 below r means a CIELAB distance below 8 r (7.7 in 2 million pairs): cheap first look


@dataclass(frozen=True, slots=True)
class Bins:
    """Occupied histogram bins: key, pixel count, mean color (n, 3), and its CIELAB value."""

    keys: Ints
    counts: Floats
    means: Floats
    labs: Floats


@dataclass(frozen=True, slots=True)
class Clusters:
    """Groups of bins, the heaviest mode first.

    Parameters
    ----------
    colors : float64 array of shape (k, 3)
        sRGB 0 to 255.
    weights : float64 array of shape (k,)
        Calm pixels.
    of_bin : int64 array of shape (n,)
        Cluster of each bin, -1 for none.
    """

    colors: Floats
    weights: Floats
    of_bin: Ints


def count_bins(mixing: Mixing, keys: npt.NDArray[np.int32], chosen: Flags) -> Bins:
    """Count the chosen pixels by color; runs of one color count at once, so flat pictures cost little."""
    starts, lengths = _runs(mixing, chosen)
    key = keys.ravel()[starts].astype(np.int64)
    occupied = np.flatnonzero(np.bincount(key, minlength=BINS))
    table = np.zeros(BINS, dtype=np.int64)
    table[occupied] = np.arange(len(occupied))
    place = table[key]
    weights: Floats = np.bincount(place, weights=lengths, minlength=len(occupied)).astype(np.float64)
    means = np.empty((len(occupied), 3))
    for channel in range(CHANNELS):
        total = lengths * mixing.planes[channel].ravel()[starts]
        means[:, channel] = np.bincount(place, weights=total, minlength=len(occupied)) / weights
    return Bins(occupied, weights, means, srgb_to_lab(means))


def _runs(mixing: Mixing, chosen: Flags) -> tuple[Ints, Ints]:
    """Return starts and lengths of runs of chosen pixels of one color, the rows one after the other."""
    flags = chosen.ravel()
    change = flags[1:] != flags[:-1]
    for plane in mixing.planes[:3]:
        flat = plane.ravel()
        change |= flat[1:] != flat[:-1]
    starts = np.concatenate([[0], np.flatnonzero(change) + 1])
    lengths = np.diff(starts, append=flags.size)
    taken = flags[starts]
    return starts[taken], lengths[taken]


def find_clusters(bins: Bins, sigma: float) -> Clusters:
    """Find modes by mean shift from the heaviest bins, each absorbing what lies within its radius."""
    radius = _RADIUS + _RADIUS_PER_SIGMA * sigma
    of_bin = np.full(len(bins.keys), -1, dtype=np.int64)
    colors: list[Floats] = []
    weights: list[float] = []
    for seed in np.argsort(-bins.counts, kind="stable"):  # over a few hundred colors, not over pixels
        if len(colors) == NO_CLUSTER or bins.counts[seed] < _LEAST_SEED_PX:
            break
        if of_bin[seed] >= 0:
            continue
        near = _near_mode(bins, int(seed), radius)
        taken = near[of_bin[near] < 0]
        of_bin[taken] = len(colors)
        of_bin[seed] = len(colors)
        taken = np.flatnonzero(of_bin == len(colors))
        colors.append(_peak_color(bins, taken))
        weights.append(float(bins.counts[taken].sum()))
    return Clusters(np.array(colors).reshape(-1, 3), np.array(weights, dtype=np.float64), of_bin)


def _near_mode(bins: Bins, seed: int, radius: float) -> Ints:
    center = bins.labs[seed]
    near = np.array([seed])
    for _ in range(_SHIFTS):
        near = _within(bins, center, radius)
        if len(near) == 0:
            return np.array([seed])
        share = bins.counts[near] / bins.counts[near].sum()
        center = (bins.labs[near] * share[:, None]).sum(axis=0)
    return _within(bins, center, radius)


def _within(bins: Bins, center: Floats, radius: float) -> Ints:
    offset = bins.labs - center
    close = np.flatnonzero((offset * offset).sum(axis=1) < (_LAB_REACH * radius) ** 2)
    return close[ciede2000(bins.labs[close], center) < radius]


def _peak_color(bins: Bins, members: Ints) -> Floats:
    counts = bins.counts[members]
    top = members[counts >= _PEAK_SHARE * counts.max()]
    share = bins.counts[top] / bins.counts[top].sum()
    color: Floats = (bins.means[top] * share[:, None]).sum(axis=0)
    return color
