"""Pixels to labels: calm pixels by their color, edge pixels by the two colors that they mix."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..progress import Progress, Steps
from .mixing import Flags, Mixing

__all__ = ["UNLABELED", "edge_labels_steps", "seed_labels"]

UNLABELED = 255
_NEIGHBORHOOD_PX = 3  # an edge pixel mixes colors that show undiluted within this distance
# Added to the residual, in levels, of an explanation by two, one or none of the colors that are near.
_CLEAN_PENALTIES = (0.0, 5.0, 14.0)
_LOSSY_PENALTIES = (0.0, 12.0, 40.0)
_GOOD_COST = 6.0  # levels: a better explanation is not looked for

Ints = npt.NDArray[np.int64]
Waves = npt.NDArray[np.float32]


def edge_labels_steps(
    mixing: Mixing, seeds: Labels, colors: npt.NDArray[np.float64], *, first: int, lossy: bool
) -> Steps[tuple[Labels, Waves, Ints]]:
    """Give every pixel without a seed label one of the two colors that it mixes.

    Parameters
    ----------
    mixing : Mixing
    seeds : uint8 array of shape (h, w)
        Labels of calm pixels, 255 elsewhere.
    colors : float64 array of shape (k, c)
        Each label's color in the mixing space, label 0 is the background; at most 16.
    first : int
        0, or 1 where there is no background.
    lossy : bool
        Whether to distrust explanations by colors that are not near, as JPEG noise invites them.

    Returns
    -------
    labels : uint8 array of shape (h, w)
        An edge pixel has the label of its larger share.
    residual : float32 array of shape (e,)
        How far, in levels, each edge pixel is from its explanation.
    edges : int64 array of shape (e,)
        Flat positions of the edge pixels.
    """
    near = _near_masks(seeds)
    edges = np.flatnonzero(seeds == UNLABELED)
    yield Progress("sorting edge pixels", 0.6)
    values = [plane.ravel()[edges].astype(np.float32) for plane in mixing.planes]
    mask = near.ravel()[edges]
    penalties = _LOSSY_PENALTIES if lossy else _CLEAN_PENALTIES
    best = _Best(len(edges), first)
    pairs = list(combinations(range(first, len(colors)), 2))
    for one, other in pairs:
        both = np.uint16((1 << one) | (1 << other))
        best.try_pair(values, np.flatnonzero((mask & both) == both), colors, (one, other), penalties[0])
    yield Progress("sorting edge pixels", 0.7)
    open_ = np.flatnonzero(best.cost > _GOOD_COST)
    values = [value[open_] for value in values]
    rest = _Best(len(open_), first)
    for one, other in pairs:
        here = (mask[open_] >> one) & 1
        there = (mask[open_] >> other) & 1
        penalty = np.take(np.array(penalties[::-1], dtype=np.float32), here + there)
        rest.try_pair(values, np.arange(len(open_)), colors, (one, other), penalty)
    better = rest.cost < best.cost[open_]
    best.residual[open_[better]] = rest.residual[better]
    best.label[open_[better]] = rest.label[better]
    labels = seeds.copy()
    labels.ravel()[edges] = best.label
    return labels, best.residual, edges


class _Best:
    """The cheapest explanation of each edge pixel so far."""

    def __init__(self, count: int, first: int) -> None:
        self.cost = np.full(count, np.inf, dtype=np.float32)
        self.residual = np.full(count, np.inf, dtype=np.float32)
        self.label = np.full(count, first, dtype=np.uint8)

    def try_pair(
        self,
        values: list[Waves],
        at: Ints,
        colors: npt.NDArray[np.float64],
        pair: tuple[int, int],
        penalty: float | Waves,
    ) -> None:
        """Explain the pixels at the given positions by one pair of colors where that is cheaper."""
        if len(at) == 0:
            return
        start = colors[pair[0]].astype(np.float32)
        along = colors[pair[1]].astype(np.float32) - start
        scale = np.float32(1.0) / max(np.float32((along * along).sum()), np.float32(1e-6))
        offsets = [value[at] - begin for value, begin in zip(values, start, strict=True)]
        part = np.zeros(len(at), dtype=np.float32)
        for offset, step in zip(offsets, along, strict=True):
            part += offset * step
        part *= scale
        np.clip(part, 0.0, 1.0, out=part)
        square = np.zeros(len(at), dtype=np.float32)
        for offset, step in zip(offsets, along, strict=True):
            square += (offset - part * step) ** 2
        residual = np.sqrt(square)
        cost = residual + np.float32(penalty) if isinstance(penalty, float) else residual + penalty
        better = cost < self.cost[at]
        won = at[better]
        self.cost[won] = cost[better]
        self.residual[won] = residual[better]
        self.label[won] = np.where(part[better] > 0.5, pair[1], pair[0])


def _near_masks(seeds: Labels) -> npt.NDArray[np.uint16]:
    """Return for each pixel, as bits, which labels have seeds within 3 px each way."""
    table = np.zeros(256, dtype=np.uint16)
    table[:16] = 1 << np.arange(16)
    mask = table[seeds]
    for axis in (0, 1):
        mask = _spread(mask if axis == 0 else mask.T)
        mask = mask if axis == 0 else mask.T
    return mask


def _spread(mask: npt.NDArray[np.uint16]) -> npt.NDArray[np.uint16]:
    wide = mask.copy()
    for shift in range(1, _NEIGHBORHOOD_PX + 1):
        wide[shift:] |= mask[:-shift]
        wide[:-shift] |= mask[shift:]
    return wide


def seed_labels(
    keys: npt.NDArray[np.int32], calm: Flags, table: npt.NDArray[np.uint8], clear: Flags | None
) -> Labels:
    """Look up the label of each calm pixel's bin; fully transparent pixels are background."""
    seeds: Labels = table[keys]
    seeds[~calm] = UNLABELED
    if clear is not None:
        seeds[clear] = 0
    return seeds
