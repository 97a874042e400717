"""Pixels to labels: calm pixels by their color, edge pixels by the two colors that they mix."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..colorimetry.explain import dot, mixed
from ..colorimetry.window import widened
from ..model.arrays import Labels
from ..progress import Progress, Steps
from .capture import Capture
from .find import UNLABELED
from .hairlines import with_hairlines
from .mixing import Mixing, Waves, in_metric, near_labels

__all__ = ["Unexplained", "edge_labels_steps"]

_NEIGHBORHOOD_PX = 3  # an edge pixel mixes colors that show undiluted within this distance ...
_ENLARGED_MORE_PX = 1.0  # ... and this much farther for each time more that the picture was enlarged
_LOSSY_MORE_PX = 6  # JPEG ripples over a block of 8 px: so much farther where not even two colors are near;
# it spoils as many more working pixels as the picture was enlarged, of this and of the neighborhood
_CHUNK = 1 << 18  # edge pixels at a time: bounds memory and the length of a step

Ints = npt.NDArray[np.int64]
Near = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]


@dataclass(frozen=True, slots=True)
class Unexplained:
    """Edge pixels that two colors leave far open.

    Flat positions (e,), values (e, c) in the mixing space, and values minus their explanation (e, c).
    """

    positions: Ints
    values: Waves
    offsets: Waves

    def only(self, chosen: npt.NDArray[np.bool_]) -> Unexplained:
        """Return some of the pixels."""
        return Unexplained(self.positions[chosen], self.values[chosen], self.offsets[chosen])


def edge_labels_steps(
    mixing: Mixing, seeds: Labels, colors: npt.NDArray[np.float64], first: int, capture: Capture
) -> Steps[tuple[Labels, Unexplained]]:
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
    capture : Capture
        Enlarging spreads an edge, so colors are near from farther off. In lossy pictures explanations by
        colors that are not near are distrusted, as JPEG noise invites them.

    Returns
    -------
    labels : uint8 array of shape (h, w)
        An edge pixel has the label of its larger share.
    unexplained : Unexplained
        The edge pixels that even the best pair leaves far open.
    """
    yield Progress("sorting edge pixels", 0.55)
    lossy = capture.lossy
    near = _near_masks(seeds, len(colors), capture).ravel()
    edges = np.flatnonzero(seeds == UNLABELED)
    labels = seeds.copy()
    penalty = capture.certain if lossy else capture.noise
    known = in_metric(colors.T, lossy=lossy).T
    open_: list[Unexplained] = []
    for start in range(0, max(len(edges), 1), _CHUNK):
        yield Progress("sorting edge pixels", 0.6 + 0.2 * start / max(len(edges), 1))
        at = edges[start : start + _CHUNK]
        shown = np.stack([plane.ravel()[at] for plane in mixing.planes]).astype(np.float32)
        best = _explained(in_metric(shown, lossy=lossy), known, near[at], first, penalty)
        labels.ravel()[at] = best.label
        far = np.flatnonzero(dot(best.offsets, best.offsets) > capture.certain**2)
        open_.append(Unexplained(at[far], shown[:, far].T, best.offsets[:, far].T))
    parts = ([getattr(one, name) for one in open_] for name in Unexplained.__slots__)
    rest = Unexplained(*(np.concatenate(some) for some in parts))
    if capture.scale <= 1.0:  # enlarged, such lines are wider
        labels = with_hairlines(labels, edges, mixing, known, first=first, capture=capture)
    return labels, rest


def _explained(values: Waves, known: Waves, near: Near, first: int, penalty: float) -> _Best:
    """Find the cheapest pair of known colors for each pixel; each color that is not near adds the penalty."""
    best = _Best(values, known, first)
    pairs = list(combinations(range(first, len(known)), 2))
    for one, other in pairs:
        both = near.dtype.type((1 << one) | (1 << other))
        best.try_pair(np.flatnonzero((near & both) == both), (one, other), np.float32(0.0))
    open_ = np.flatnonzero(best.cost > penalty)  # of the others no pair is cheaper
    for one, other in pairs:
        far = 2 - ((near[open_] >> one) & 1) - ((near[open_] >> other) & 1)
        best.try_pair(open_, (one, other), np.float32(penalty) * far)
    return best


class _Best:
    """The cheapest explanation of each edge pixel so far."""

    def __init__(self, values: Waves, colors: Waves, first: int) -> None:
        count = values.shape[1]
        self.values = values
        self.colors = colors
        self.cost = np.full(count, np.inf, dtype=np.float32)
        self.label = np.full(count, first, dtype=np.uint8)
        # Until a pair explains it, a pixel shows the first color and all the rest is open.
        self.offsets = values - self.colors[first][:, None] if len(colors) > first else values.copy()

    def try_pair(self, at: Ints, pair: tuple[int, int], penalty: np.float32 | Waves) -> None:
        """Explain the pixels at the given positions by one pair of colors where that is cheaper."""
        if len(at) == 0:
            return
        one, other = (self.colors[number][:, None] for number in pair)
        part, offsets = mixed(self.values[:, at], one, other)
        cost = np.sqrt(dot(offsets, offsets)) + penalty
        better = cost < self.cost[at]
        won = at[better]
        self.cost[won] = cost[better]
        self.offsets[:, won] = offsets[:, better]
        self.label[won] = np.where(part[better] > 0.5, pair[1], pair[0])


def _near_masks(seeds: Labels, count: int, capture: Capture) -> Near:
    """Return for each pixel, as bits, which of `count` labels have seeds within reach, as said above."""
    lossy, enlarged = capture.lossy, capture.enlarged
    more = _ENLARGED_MORE_PX * (enlarged - 1.0)
    reach = round(_NEIGHBORHOOD_PX * enlarged if lossy else _NEIGHBORHOOD_PX + more)
    mask = near_labels(seeds, count, reach)
    if lossy:
        one = (mask & (mask - 1)) == 0  # zero or one bit; 0 - 1 wraps
        mask = np.where(one, widened(mask, round(_LOSSY_MORE_PX * enlarged)), mask)
    return mask
