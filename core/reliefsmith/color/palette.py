"""Which of the modes are colors of the art: those whose calm pixels cost more to explain away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, parse_hex, srgb_to_lab
from ..colorimetry.window import widened
from ..recipe.sections.limits import MOST_COLORS
from .background import LIKE_BACKGROUND
from .capture import Capture
from .cost import BLEED, BOUNDARY, CLOSER_KIN, KIN, NOISE_ALONE, Judge, by_nearness, color_price, spread
from .mixing import Flags, within_a_step
from .modes import MOST_LOOKS, NO_CLUSTER, Clusters, Floats, Ints

__all__ = ["Choice", "choose_colors", "palette_choice"]


@dataclass(frozen=True, slots=True)
class Choice:
    """The colors that were kept.

    Parameters
    ----------
    colors : float64 array of shape (k, 3)
        sRGB 0 to 255, as reported.
    shown : float64 array of shape (k, 3)
        The same colors as they stand in the picture: edge pixels mix these.
    of_cluster : int64 array
        For each cluster its color's number, -1 for the background, -2 where it is no color.
    """

    colors: Floats
    shown: Floats
    of_cluster: Ints


def choose_colors(
    clusters: Clusters,
    cluster_map: npt.NDArray[np.uint8],
    background: Floats | None,
    art_px: float,
    capture: Capture,
    *,
    beside: Flags,
    count: int = 0,
) -> Choice:
    """Choose the colors of the art among the modes.

    From the background on, that mode becomes a color which gains most: what those chosen before leave open
    of its calm pixels. Halos and bled tints lie beside the colors that explain them. What gains less than a
    color's price is none.

    Parameters
    ----------
    clusters : Clusters
    cluster_map : uint8 array of shape (h, w)
        Cluster of each calm pixel, 255 elsewhere.
    background : float64 array of shape (3,) or None
        None where the background is transparent or there is none.
    art_px : float
        Pixels that are not background.
    capture : Capture
    beside : bool array of shape (k,)
        Clusters that are not the background's though they are like it; of `beside_ground`.
    count : int
        How many colors to find; 0 leaves it to the price.
    """
    price = color_price(art_px, capture, pure=not capture.lossy)
    for kin in (KIN, *CLOSER_KIN):  # closer ones are told apart only where more are asked for
        groups = _kin_groups(clusters, background, beside, kin, lossy=capture.lossy)
        kept, left = _Gains(groups, cluster_map, capture).chosen(price, count)
        if len(kept) >= count:
            break
    return _choice(groups, kept, left)


@dataclass(frozen=True, slots=True)
class _Groups:
    """Kin of clusters: color, weight, CIELAB of each; group of each cluster; group of the background."""

    colors: Floats
    weights: Floats
    labs: Floats
    of_cluster: Ints
    background: int | None


def _kin_groups(
    clusters: Clusters, background: Floats | None, beside: Flags, kin: float, *, lossy: bool
) -> _Groups:
    """Join clusters that are one color; the heaviest names it. Group 0 is the background if there is one."""
    grounds = 0 if background is None else 1
    colors, weights = clusters.colors, np.append(np.zeros(grounds), clusters.weights)
    if background is not None:
        colors = np.concatenate([background[None], colors])
    labs, colors = srgb_to_lab(colors), colors.copy()
    heads, group = list(range(grounds)), np.zeros(len(colors), dtype=np.int64)
    for one in grounds + np.argsort(-clusters.weights, kind="stable"):
        gaps = ciede2000(labs[heads], labs[one])
        step = within_a_step(colors[one], colors[heads]) if lossy else np.zeros(len(heads), dtype=bool)
        gaps = np.where(step, 0.0, gaps)
        near = int(np.argmin(gaps)) if heads else -1
        is_ground = near == 0 and background is not None
        if (
            near < 0
            or gaps[near] >= (LIKE_BACKGROUND if is_ground else kin)
            or (near == 0 and beside[one - grounds])
        ):
            near = len(heads)
            heads.append(int(one))
        else:
            head = heads[near]
            weights[head] += weights[one]
            if step[near] and not is_ground:  # rounded up here, down there
                colors[head] += weights[one] / max(weights[head], 1.0) * (colors[one] - colors[head])
        group[one] = near
    ground = None if background is None else 0
    return _Groups(colors[heads], weights[heads], labs[heads], group[grounds:], ground)


class _Gains:
    """What each group gains as a color beside those chosen before, by its pixels in cells of the picture."""

    def __init__(self, groups: _Groups, cluster_map: npt.NDArray[np.uint8], capture: Capture) -> None:
        self.groups, self.capture = groups, capture
        side = spread(capture)
        height, width = cluster_map.shape
        self._shape = (-(-height // side), -(-width // side))
        cells = self._shape[0] * self._shape[1]
        self._heavy = np.argsort(-groups.weights, kind="stable")[:MOST_LOOKS]
        rank = np.full(len(groups.weights), len(self._heavy), dtype=np.uint8)
        rank[self._heavy] = np.arange(len(self._heavy))
        table = np.full(NO_CLUSTER + 1, len(self._heavy), dtype=np.uint8)
        table[: len(groups.of_cluster)] = rank[groups.of_cluster]
        ranks = np.take(table, cluster_map)
        key = ranks.astype(np.int64) * cells
        key += np.arange(height)[:, None] // side * self._shape[1] + np.arange(width) // side
        pixels = np.bincount(key.ravel(), minlength=cells)[: len(self._heavy) * cells]
        row = np.flatnonzero(pixels)
        self._rank, self._cell = np.divmod(row, cells)
        self._pixels = pixels[row] / capture.enlarged**2
        self._sides = np.bincount(_rims(ranks, key), minlength=len(pixels))[row] / capture.enlarged
        self._near, self._far = (np.zeros(self._shape, dtype=np.uint16) for _ in range(2))

    def chosen(self, price: float, count: int) -> tuple[list[int], list[int]]:
        """Return the groups that are colors, and those that would be too if there were not too many."""
        kept: list[int] = []
        most = count or MOST_COLORS
        if self.groups.background is not None:
            most += 1
            self._add(self.groups.background, kept)
        gains = self._gains(kept)
        while len(kept) < most and gains.max(initial=0.0) > (0.0 if count else price):
            self._add(int(np.argmax(gains)), kept)
            gains = self._gains(kept)
        left = np.flatnonzero(gains > price).tolist()
        return [group for group in kept if group != self.groups.background], left

    def _add(self, group: int, kept: list[int]) -> None:
        own = np.zeros(self._shape, dtype=np.uint16)
        own.ravel()[self._cell[self._heavy[self._rank] == group]] = 1 << len(kept)
        self._near |= widened(own, 1)
        self._far |= widened(own, BLEED)
        kept.append(group)

    def _gains(self, kept: list[int]) -> Floats:
        """Return what each group gains (g,) beside the kept ones, in squares of noise."""
        colors = self.groups.colors
        masks = 1 << len(kept)
        around = self._far.ravel()[self._cell].astype(np.int64) * masks + self._near.ravel()[self._cell]
        case, key = np.unique(self._rank * masks**2 + around, return_inverse=True)
        rank = case // masks**2
        far, near = (case // masks % masks).astype(np.uint16), (case % masks).astype(np.uint16)
        group = self._heavy[rank]
        judge = Judge(colors[kept].reshape(-1, 3), self.capture, calm=True)
        shown = colors[group].T
        # A color explains its tints wherever they are.
        opened = np.minimum(judge.left_open_beside(shown, near, far), judge.apart(shown))
        worth = np.maximum((opened - NOISE_ALONE)[key] * self._pixels - BOUNDARY * self._sides, 0.0)
        weights = np.bincount(self._rank, weights=worth, minlength=len(self._heavy))
        gains: Floats = np.zeros(len(colors))
        gains[self._heavy] = weights
        if self.capture.lossy and kept:
            gaps = ciede2000(self.groups.labs[:, None], self.groups.labs[kept][None]).min(axis=1)
            gains = by_nearness(gains, gaps)
        gains[kept] = 0.0
        return gains


def _rims(ranks: npt.NDArray[np.uint8], key: Ints) -> Ints:
    """Return the key of each pixel (h, w) once for every side at which another rank begins."""
    across, down = ranks[:, 1:] != ranks[:, :-1], ranks[1:] != ranks[:-1]
    sides = (key[:, 1:][across], key[:, :-1][across], key[1:][down], key[:-1][down])
    return np.concatenate(sides)


def _choice(groups: _Groups, kept: list[int], left: list[int]) -> Choice:
    """Make colors of the chosen groups, the heaviest first; those that were too many join the nearest."""
    number = np.full(len(groups.weights), -2, dtype=np.int64)
    if groups.background is not None:
        number[groups.background] = -1
    kept = sorted(kept, key=lambda group: -groups.weights[group])
    number[kept] = np.arange(len(kept))
    for group in left if kept else []:
        number[group] = int(np.argmin(ciede2000(groups.labs[kept], groups.labs[group])))
    colors = groups.colors[kept].reshape(-1, 3)
    return Choice(colors, colors, number[groups.of_cluster])


def palette_choice(clusters: Clusters, palette: tuple[str, ...], background: Floats | None) -> Choice:
    """Give each mode the nearest of the given colors by CIEDE2000; the background competes with them.

    Given colors that no mode is nearest to stay without pixels.
    """
    given = np.array([parse_hex(text) for text in palette], dtype=np.float64)
    rivals = given if background is None else np.concatenate([given, background[None]])
    gaps = ciede2000(srgb_to_lab(clusters.colors)[:, None], srgb_to_lab(rivals)[None])
    nearest = gaps.argmin(axis=1) if len(gaps) else np.zeros(0, dtype=np.int64)
    of_cluster = np.where(nearest == len(given), -1, nearest)
    shown = given.copy()
    for number in range(len(given)):  # at most eight
        own = np.flatnonzero(of_cluster == number)
        if len(own):
            shown[number] = clusters.colors[own[np.argmax(clusters.weights[own])]]
    return Choice(given, shown, of_cluster)
