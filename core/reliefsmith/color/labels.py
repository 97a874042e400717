"""Pixels to labels: calm pixels by their color, edge pixels by the two colors that they mix."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

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
from .modes import Ints

__all__ = ["Unexplained", "edge_labels_steps"]

_NEIGHBORHOOD_PX = 3  # so near show the colors that an edge pixel mixes; one more for each time enlarged
_LOSSY_MORE_PX = 6  # JPEG ripples over a block of 8 px: so much farther where not even two colors are near;
# it spoils as many more working pixels as the picture was enlarged, of this and of the neighborhood
_CHUNK = 1 << 18  # edge pixels at a time: bounds memory and the length of a step


@dataclass(frozen=True, slots=True)
class Unexplained:
    """Edge pixels that two colors leave far open.

    Flat positions (e,), values (e, c) in the mixing space, and values minus their explanation (e, c).
    """

    positions: Ints
    values: Waves
    offsets: Waves


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
        label, left = _explained(in_metric(shown, lossy=lossy), known, near[at], first, penalty)
        labels.ravel()[at] = label
        far = np.flatnonzero(dot(left, left) > capture.certain**2)
        open_.append(Unexplained(at[far], shown[:, far].T, left[:, far].T))
    parts = ([getattr(one, name) for one in open_] for name in Unexplained.__slots__)
    rest = Unexplained(*(np.concatenate(some) for some in parts))
    if capture.scale <= 1.0:  # enlarged, such lines are wider
        labels = with_hairlines(labels, edges, mixing, known, first=first, capture=capture)
    return labels, rest


def _explained(
    values: Waves, known: Waves, near: npt.NDArray[Any], first: int, penalty: float
) -> tuple[Labels, Waves]:
    """Find the cheapest pair of known colors for each pixel; each color that is not near adds the penalty.

    Returns the label (n,) of the larger share, and what the pair leaves open (c, n).
    """
    cost = np.full(values.shape[1], np.inf, dtype=np.float32)
    label = np.full(values.shape[1], first, dtype=np.uint8)
    # Until a pair explains it, a pixel shows the first color and all the rest is open.
    rest = values - known[first][:, None] if len(known) > first else values.copy()

    def take(at: Ints, pair: tuple[int, int], dearer: npt.ArrayLike) -> None:
        part, left = mixed(values[:, at], *(known[number][:, None] for number in pair))
        paid = np.sqrt(dot(left, left)) + np.asarray(dearer, dtype=np.float32)
        better = paid < cost[at]
        won = at[better]
        cost[won], rest[:, won] = paid[better], left[:, better]
        label[won] = np.where(part[better] > 0.5, pair[1], pair[0])

    pairs = list(combinations(range(first, len(known)), 2))
    for one, other in pairs:
        both = near.dtype.type((1 << one) | (1 << other))
        take(np.flatnonzero((near & both) == both), (one, other), 0.0)
    open_ = np.flatnonzero(cost > penalty)  # of the others no pair is cheaper
    for one, other in pairs:
        far = 2 - ((near[open_] >> one) & 1) - ((near[open_] >> other) & 1)
        take(open_, (one, other), penalty * far)
    return label, rest


def _near_masks(seeds: Labels, count: int, capture: Capture) -> npt.NDArray[Any]:
    """Return for each pixel, as bits, which of `count` labels have seeds within reach, as said above."""
    lossy, enlarged = capture.lossy, capture.enlarged
    reach = round(_NEIGHBORHOOD_PX * enlarged if lossy else _NEIGHBORHOOD_PX + enlarged - 1.0)
    mask = near_labels(seeds, count, reach)
    if lossy:
        one = (mask & (mask - 1)) == 0  # zero or one bit; 0 - 1 wraps
        mask = np.where(one, widened(mask, round(_LOSSY_MORE_PX * enlarged)), mask)
    return mask
