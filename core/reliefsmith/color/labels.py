"""Pixels to labels: calm pixels by their color, edge pixels by the two colors that they mix."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from ..colorimetry.explain import dot, mixed
from ..colorimetry.window import amid, widened
from ..model.arrays import Labels
from ..progress import Progress, Steps
from .capture import Capture
from .cost import BLEED, spread
from .find import UNLABELED
from .hairlines import with_hairlines
from .mixing import Mixing, Waves, in_metric, near_labels
from .modes import Ints

__all__ = ["Unexplained", "edge_labels_steps"]

_NEAR_PX = 3  # so far an edge mixes colors; chat's pictures lose .0013 with 2, and .0014 with 6
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

    Colors are near that show within the reach of an edge, also in slivers without a calm pixel. Others are
    distrusted, the more so beyond the reach of bled chroma: noise and washed tones seem to mix them.

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

    Returns
    -------
    labels : uint8 array of shape (h, w)
        An edge pixel has the label of its larger share.
    unexplained : Unexplained
        The edge pixels that even the best pair leaves far open.
    """
    yield Progress("sorting edge pixels", 0.55)
    lossy, reach = capture.lossy, round(_NEAR_PX * capture.enlarged)
    known = in_metric(colors.T, lossy=lossy).T
    near = near_labels(_shown(mixing, seeds, known, first, capture), len(known), reach)
    bled = widened(near, BLEED * spread(capture) - reach).ravel()
    near = near.ravel()
    edges = np.flatnonzero(seeds == UNLABELED)
    labels = seeds.copy()
    open_: list[Unexplained] = []
    for start in range(0, max(len(edges), 1), _CHUNK):
        yield Progress("sorting edge pixels", 0.6 + 0.2 * start / max(len(edges), 1))
        at = edges[start : start + _CHUNK]
        shown = np.stack([plane.ravel()[at] for plane in mixing.planes]).astype(np.float32)
        values = in_metric(shown, lossy=lossy)
        label, left = _explained(values, known, near[at], bled[at], first=first, capture=capture)
        labels.ravel()[at] = label
        far = np.flatnonzero(dot(left, left) > capture.certain**2)
        open_.append(Unexplained(at[far], shown[:, far].T, left[:, far].T))
    parts = ([getattr(one, name) for one in open_] for name in Unexplained.__slots__)
    rest = Unexplained(*(np.concatenate(some) for some in parts))
    if capture.scale <= 1.0:  # enlarged, such lines are wider
        labels = with_hairlines(labels, edges, mixing, known, first=first, capture=capture)
    return labels, rest


def _shown(mixing: Mixing, seeds: Labels, known: Waves, first: int, capture: Capture) -> Labels:
    """Return the seeds, and the label of all other pixels (h, w) that a known color explains.

    Edges that enlarging spread pass by third colors, so it explains all over which a pixel spreads.
    """
    shown, at = seeds.copy(), np.flatnonzero(seeds == UNLABELED)
    values = in_metric(np.stack([plane.ravel()[at] for plane in mixing.planes]), lossy=capture.lossy)
    for label in range(first, len(known)):
        offset = values - known[label][:, None]
        alike = np.zeros(seeds.shape, dtype=bool)
        alike.ravel()[at[dot(offset, offset) <= capture.noise**2]] = True
        shown[amid(alike, round(capture.enlarged) - 1)] = label
    return shown


def _explained(
    values: Waves,
    known: Waves,
    near: npt.NDArray[Any],
    bled: npt.NDArray[Any],
    *,
    first: int,
    capture: Capture,
) -> tuple[Labels, Waves]:
    """Find the cheapest pair of known colors for each pixel, by those seen near, and as far as chroma bleeds.

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
    open_ = np.flatnonzero(cost > capture.alike)  # of the others no pair is cheaper
    near, bled = near[open_], bled[open_]
    for one, other in pairs:
        away, gone = (2 - ((mask >> one) & 1) - ((mask >> other) & 1) for mask in (near, bled))
        take(open_, (one, other), capture.alike * away + capture.certain * gone)
    return label, rest
