"""Which of the modes are colors of the art: large enough, far enough from others, no mixture, no halo."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..recipe.sections.limits import MOST_COLORS
from .background import LIKE_BACKGROUND
from .capture import Capture
from .lossy import bleeds, tints, within_a_step
from .mixing import Flags, mixes_two
from .modes import NO_CLUSTER, Clusters, Floats, Ints

__all__ = ["Choice", "choose_colors", "core_shares"]

_KIN = 3.7  # dE00: nearer modes are one color
_CLOSER_KIN = (2.6, 1.8)  # tried where more colors are asked for than are found
_KIN_PER_SIGMA = 0.8  # noise above one level spreads a color's modes
_NOISY = 1.0
_LEAST_SHARE = 0.0004  # of the art in calm pixels; half of it lets pale JPEG halos in
_LEAST_PX = 12
_NEAR = 14.0  # dE00 to a kept color from which on more pixels are asked for
_NEAR_SCALE = 12.0
_LOSSY_NEAR_SCALE = 3.0  # JPEG bleeds tints of each color along its edges; less loses kin that are art
_MIXED_FACTOR = 2.5  # more pixels are asked for where a color lies between two kept ones or bleeds from them
_BLEED_REACH = 8.0  # levels of Cb, Cr: narrower than for lines, since calm pixels are sure of their color
_MIXED_REACH = 12.0  # levels from the line between them
_MIXED_REACH_PER_SIGMA = 3.0
_CORE_PX = 2  # a real area shows the same color that far up, down, left and right ...
_LOSSY_CORE_PX = 4  # ... and farther in JPEG, whose chroma bleeds over blocks
_CORE_SHARE = (0.1, 0.3)  # of the pixels: from the first on fewer are asked for, at the second ...
_CORE_FACTOR = (
    0.2  # ... so many times as many; between them evenly, as no width of strips tells art from edge
)
_NO_CORE = 0.05  # of the pixels: so narrow that it may be an edge
_SOFT_EDGE = 27.0  # levels between two colors whose edge may be calm where a picture was enlarged
_SOFT_EDGE_REACH = 4.0  # levels from the line between them
_FEW = 24  # clusters


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


def core_shares(cluster_map: npt.NDArray[np.uint8], count: int, *, lossy: bool) -> Floats:
    """Return for each cluster the share of its pixels that lie amid their like.

    Halos and bleeding chroma are narrow: they have no core.
    """
    reach = _LOSSY_CORE_PX if lossy else _CORE_PX
    here = cluster_map[reach:-reach, reach:-reach]
    core: Flags = here != NO_CLUSTER
    for row, column in ((0, reach), (2 * reach, reach), (reach, 0), (reach, 2 * reach)):
        core &= here == cluster_map[row : row + here.shape[0], column : column + here.shape[1]]
    inner = _counts(np.where(core, here, np.uint8(NO_CLUSTER)), count)
    total = _counts(cluster_map, count)
    shares: Floats = inner / np.maximum(total, 1)
    return shares


def _counts(cluster_map: npt.NDArray[np.uint8], count: int) -> Ints:
    """Count the pixels of each cluster; for a few of them comparing is faster than a histogram."""
    if count > _FEW:
        return np.bincount(cluster_map.ravel(), minlength=count)[:count]
    return np.array([np.count_nonzero(cluster_map == number) for number in range(count)], dtype=np.int64)


def choose_colors(
    clusters: Clusters,
    cores: Floats,
    background: Floats | None,
    art_px: float,
    capture: Capture,
    *,
    beside: Flags,
    count: int = 0,
) -> Choice:
    """Choose the colors of the art among the modes.

    A mode is kept if it has 0.04 % of the art in calm pixels (12 at least); more if it is near to a kept
    color or a mixture of two; down to a fifth of that if it has a core; never if it has none and edges
    show it. Modes nearer than dE00 3.7 are one color.
    Of more than eight, or than `count`, those pairs merge whose merging changes least: dE00 squared times
    the smaller weight.

    Parameters
    ----------
    clusters : Clusters
    cores : float64 array
        Of `core_shares`.
    background : float64 array of shape (3,) or None
        None where the background is transparent or there is none.
    art_px : float
        Pixels that are not background.
    capture : Capture
    beside : bool array of shape (k,)
        Clusters that are not the background's though they are like it; of `beside_ground`.
    count : int
        How many colors to find; 0 leaves it to the rule.
    """
    sigma, lossy = capture.sigma, capture.lossy
    wider = _KIN_PER_SIGMA * max(0.0, sigma - _NOISY)
    scale = _LOSSY_NEAR_SCALE if lossy or sigma > _NOISY else _NEAR_SCALE
    rule = _Rule(
        max(_LEAST_SHARE * art_px, _LEAST_PX),
        _MIXED_REACH + _MIXED_REACH_PER_SIGMA * sigma,
        scale,
        lossy,
        np.where(beside, 0.0, LIKE_BACKGROUND),
    )
    groups, kept = _kept(clusters, cores, background, rule, (_KIN + wider, count))
    for kin in _CLOSER_KIN:
        if len(kept) >= count:
            break
        groups, kept = _kept(clusters, cores, background, rule, (kin + wider, count))
    return _merged(groups, kept, count or MOST_COLORS)


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a mode needs to be kept.

    Least pixels, reach of mixtures in levels, scale of nearness, and CIEDE2000 (k,) under which each is the
    background's.
    """

    least: float
    reach: float
    scale: float
    lossy: bool
    as_background: Floats


@dataclass(frozen=True, slots=True)
class _Groups:
    """Kin of clusters: color, weight, CIELAB of each; group of each cluster; group of the background."""

    colors: Floats
    weights: Floats
    labs: Floats
    of_cluster: Ints
    background: int | None


def _kept(
    clusters: Clusters, cores: Floats, background: Floats | None, rule: _Rule, wanted: tuple[float, int]
) -> tuple[_Groups, list[int]]:
    """Return the groups of kin within a limit and which of them are colors, for a count at least so many."""
    kin, count = wanted
    groups = _kin_groups(clusters, background, kin, rule)
    inner = _core_shares(groups, cores, clusters.weights)
    ease = np.interp(inner, _CORE_SHARE, (1.0, _CORE_FACTOR))
    passed: dict[int, float] = {}
    kept: list[int] = [] if groups.background is None else [groups.background]
    for candidate in range(len(kept), len(groups.weights)):  # heaviest first
        factor = max(_factor(groups, candidate, kept, rule) * ease[candidate], 1.0)
        if kept and inner[candidate] < _NO_CORE and _is_edge(groups.colors, candidate, kept, rule):
            factor = np.inf
        passed[candidate] = groups.weights[candidate] / (rule.least * factor)
        if passed[candidate] >= 1.0:
            kept.append(candidate)
    kept = [k for k in kept if k != groups.background]
    if len(kept) < count:
        rest = sorted((k for k in passed if k not in kept), key=lambda k: -passed[k])
        kept += [k for k in rest if groups.weights[k] >= rule.least][: count - len(kept)]
    return groups, kept


def _kin_groups(clusters: Clusters, background: Floats | None, kin: float, rule: _Rule) -> _Groups:
    """Join clusters that are one color; the heaviest names it. Group 0 is the background if there is one."""
    labs = srgb_to_lab(clusters.colors)
    colors: list[Floats] = []
    weights: list[float] = []
    group_labs: list[Floats] = []
    of_cluster = np.full(len(labs), -1, dtype=np.int64)
    if background is not None:
        colors.append(background)
        weights.append(0.0)
        group_labs.append(srgb_to_lab(background))
    for cluster in np.argsort(-clusters.weights, kind="stable"):
        gaps = ciede2000(np.array(group_labs).reshape(-1, 3), labs[cluster])
        step = within_a_step(clusters.colors[cluster], np.array(colors).reshape(-1, 3))
        if rule.lossy:
            gaps = np.where(step, 0.0, gaps)
        near = int(np.argmin(gaps)) if len(gaps) else -1
        limit = rule.as_background[cluster] if background is not None and near == 0 else kin
        if near >= 0 and gaps[near] < limit:
            of_cluster[cluster] = near
            weights[near] += clusters.weights[cluster]
            if rule.lossy and step[near] and (near > 0 or background is None):  # rounded up here, down there
                share = clusters.weights[cluster] / max(weights[near], 1.0)
                colors[near] = colors[near] + share * (clusters.colors[cluster] - colors[near])
            continue
        of_cluster[cluster] = len(colors)
        colors.append(clusters.colors[cluster])
        weights.append(clusters.weights[cluster])
        group_labs.append(labs[cluster])
    shape = (len(colors), 3)
    return _Groups(
        np.array(colors).reshape(shape),
        np.array(weights),
        np.array(group_labs).reshape(shape),
        of_cluster,
        0 if background is not None else None,
    )


def _core_shares(groups: _Groups, cores: Floats, weights: Floats) -> Floats:
    """Return the share of each group's pixels that lie amid their like."""
    count = len(groups.weights)
    inner = np.bincount(groups.of_cluster, weights=cores * weights, minlength=count)
    total = np.bincount(groups.of_cluster, weights=weights, minlength=count)
    shares: Floats = inner / np.maximum(total, 1.0)
    return shares


def _is_edge(colors: Floats, group: int, kept: list[int], rule: _Rule) -> bool:
    """Return whether a color without a core is what edges of kept ones show in calm pixels.

    That is a tint beside one, in lossy pictures, or the middle between two that are near to each other.
    """
    color, others = colors[group], colors[kept]
    if rule.lossy and tints(color, others):
        return True
    near = others[np.abs(others - color).max(axis=1) < _SOFT_EDGE]
    gaps = np.abs(near[:, None] - near[None]).max(axis=2)
    first, second = np.nonzero(np.triu((gaps > 0) & (gaps < _SOFT_EDGE)))
    return any(
        mixes_two(color, near[[one, other]], _SOFT_EDGE_REACH)
        for one, other in zip(first, second, strict=True)
    )


def _factor(groups: _Groups, group: int, kept: list[int], rule: _Rule) -> float:
    """Return how many times more pixels a color needs for being near or between kept ones."""
    if not kept:
        return 1.0
    gap = float(ciede2000(groups.labs[kept], groups.labs[group]).min())
    factor = 1.0 + max(0.0, _NEAR - gap) ** 2 / rule.scale
    color, others = groups.colors[group], groups.colors[kept]
    mixed = mixes_two(color, others, rule.reach) or (rule.lossy and bleeds(color, others, _BLEED_REACH))
    return factor * _MIXED_FACTOR if mixed else factor


def _merged(groups: _Groups, kept: list[int], most: int) -> Choice:
    """Merge the cheapest pairs until at most `most` colors are left."""
    number = np.full(len(groups.weights), -2, dtype=np.int64)
    if groups.background is not None:
        number[groups.background] = -1
    kept = sorted(kept, key=lambda k: -groups.weights[k])
    labs, weights = groups.labs[kept], groups.weights[kept].copy()
    target = np.arange(len(kept))
    alive = list(range(len(kept)))
    while len(alive) > most:
        gaps = ciede2000(labs[alive][:, None], labs[alive][None])
        light = np.minimum(weights[alive][:, None], weights[alive][None])
        cost = np.where(np.tri(len(alive), dtype=bool), np.inf, gaps**2 * light)
        one, other = divmod(int(np.argmin(cost)), len(alive))
        target[target == alive[other]] = alive[one]
        weights[alive[one]] += weights[alive[other]]
        del alive[other]
    for position, group in enumerate(kept):
        number[group] = alive.index(int(target[position]))
    colors = groups.colors[[kept[k] for k in alive]].reshape(-1, 3)
    return Choice(colors, colors, number[groups.of_cluster])
