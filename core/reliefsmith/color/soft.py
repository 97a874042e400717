"""Soft changes of color: shadows become background, gradients and shading become few flat bands.

Flat colors meet at edges, where pixels are not calm. Colors that pass into each other through calm pixels
with a steady slope are one shaded area.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from ..plane.groups import sorted_distinct
from .background import SAME_COLOR
from .mixing import Flags, Mixing
from .modes import NO_CLUSTER, Clusters, Floats, Ints

__all__ = ["bands", "shades"]

_REACH_PX = 16  # a slope is measured from that far before to that far behind a pixel, all calm
_LINES = 300  # rows and columns that are looked at
_LEAST_SLOPE = 2.0  # levels over twice the reach
_LEAST_SLOPE_LOSSY = 3.0
_SLOPE_PER_SIGMA = 3.0
_SOFT_SHARE = 0.5  # of a color's looked-at pixels that lie on a slope
_FLAT_SHARE = 0.15  # of a color's pixels that are amid calm ones: more of them without slope is no shadow
_LEAST_CONTACTS = 3
_CONTACTS_PER_SIDE = 0.5  # of the square root of the smaller color's pixels: bands touch along their length
_BAND = 12.0  # CIELAB distance from the middle of a band within which most of it lies
_BAND_SHARE = 0.9
_MOST_BANDS = 6
_BAND_ROUNDS = 8
_SHADOW_REACH = 12.0  # levels of a shadow's color from a darker background
_DARKEST_SHADOW = 0.4  # of the background


def bands(
    mixing: Mixing,
    cluster_map: npt.NDArray[np.uint8],
    clusters: Clusters,
    *,
    background: Floats | None,
    sigma: float,
    lossy: bool,
) -> tuple[Clusters, Flags, bool]:
    """Join the colors of shaded areas into bands, and shadows with the background.

    Returns
    -------
    clusters : Clusters
        A joined color keeps its place with no pixels; bins go to the band.
    soft : bool array
        Which clusters were part of a shaded area that is not shadow.
    shadow : bool
        Whether the background has a shadow on it.
    """
    count = len(clusters.weights)
    least = max(_LEAST_SLOPE_LOSSY if lossy else _LEAST_SLOPE, _SLOPE_PER_SIGMA * sigma)
    looks = [_slopes(mixing, cluster_map, axis, least) for axis in (0, 1)]
    soft = np.zeros(count, dtype=bool)
    if not any(look.sloped.any() for look in looks):
        return clusters, soft, False
    counts = [look.counts(count) for look in looks]
    flat = np.zeros(count, dtype=bool)
    for sloped, seen, _ in counts:
        soft |= sloped > _SOFT_SHARE * np.maximum(seen, 1)
        flat |= seen > _FLAT_SHARE * clusters.weights
    flat &= ~soft
    if not soft.any():
        return clusters, soft, False
    contacts = counts[0][2] + counts[1][2]
    joined = _joined(clusters, (soft, flat), contacts, background)
    shadow = joined == -1
    if background is not None and shadow.any():
        joined[shadow] = int(np.argmin(ciede2000(srgb_to_lab(clusters.colors), srgb_to_lab(background))))
    return _regrouped(clusters, joined), soft & ~shadow, bool(shadow.any())


@dataclass(frozen=True, slots=True)
class _Look:
    """Some rows of a picture, or some columns as rows, each `step` of them apart.

    Clusters `here` (l, n); which pixels from the reach on are `steady`, with calm ones alone round them, and
    which of these lie on a slope, (l, n - 2 reach).
    """

    here: npt.NDArray[np.uint8]
    steady: Flags
    sloped: Flags
    step: int

    def counts(self, count: int) -> tuple[Ints, Ints, Ints]:
        """Count for each cluster its pixels on slopes, its steady ones, and its contacts (k, k)."""
        middle = self.here[:, _REACH_PX : _REACH_PX + self.steady.shape[1]]
        seen = np.bincount(middle[self.steady], minlength=count)
        sloped = np.bincount(middle[self.sloped], minlength=count)
        before, after = self.here[:, :-1], self.here[:, 1:]
        touch = (before != after) & (before != NO_CLUSTER) & (after != NO_CLUSTER)
        pair = before[touch].astype(np.int64) * 256 + after[touch]
        contacts = np.bincount(pair, minlength=1 << 16).reshape(256, 256)[:count, :count]
        return sloped * self.step, seen * self.step, (contacts + contacts.T) * self.step


def _slopes(mixing: Mixing, cluster_map: npt.NDArray[np.uint8], axis: int, least: float) -> _Look:
    """Look for steady slopes along some rows (axis 1) or columns."""
    step = max(cluster_map.shape[1 - axis] // _LINES, 1)

    def chosen(plane: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
        return plane[::step] if axis == 1 else np.ascontiguousarray(plane[:, ::step].T)

    here = chosen(cluster_map)
    span = 2 * _REACH_PX
    if here.shape[1] <= span:
        none = np.zeros((len(here), 0), dtype=bool)
        return _Look(here[:, :0], none, none, step)
    steady = here != NO_CLUSTER
    covered = 1
    while covered <= span:  # doubled each time
        more = min(covered, span + 1 - covered)
        steady = steady[:, :-more] & steady[:, more:]
        covered += more
    sloped = np.zeros(steady.shape, dtype=bool)
    half = _REACH_PX // 2
    for plane in mixing.planes[:3]:
        line = chosen(plane)
        low, high = np.minimum(line[:, :-span], line[:, span:]), np.maximum(line[:, :-span], line[:, span:])
        outer = high - low
        row, column = np.nonzero((outer > np.uint8(min(least, 255.0))) & steady)
        change = outer[row, column].astype(np.int16)
        inner = np.abs(
            line[row, column + span - half].astype(np.int16) - line[row, column + half].astype(np.int16)
        )
        # A steady slope has half the change within half the way; a step has all or nothing.
        sloped[row, column] |= (4 * inner >= change) & (4 * inner <= 3 * change)
    return _Look(here, steady, sloped, step)


def _joined(
    clusters: Clusters, kinds: tuple[Flags, Flags], contacts: Ints, background: Floats | None
) -> Ints:
    """Return for each cluster the one that it is joined to: itself, a band's heaviest, or -1 for shadow."""
    soft, _ = kinds
    labs = srgb_to_lab(clusters.colors)
    joined = np.arange(len(labs))
    side = np.sqrt(np.minimum(clusters.weights[:, None], clusters.weights[None]))
    touching = contacts >= np.maximum(_LEAST_CONTACTS, _CONTACTS_PER_SIDE * side)
    if background is not None:
        joined[_shadows(clusters.colors, labs, kinds, touching, background)] = -1
    open_ = soft & (joined >= 0)
    for start in np.argsort(-clusters.weights, kind="stable"):  # over colors, heaviest first
        if not open_[start]:
            continue
        area = np.array(_reached(int(start), touching & open_[None] & open_[:, None]))
        open_[area] = False
        band = _split(labs[area], clusters.weights[area])
        for number in range(int(band.max()) + 1):
            own = area[band == number]
            joined[own] = own[np.argmax(clusters.weights[own])]
    return joined


def _split(labs: Floats, weights: Floats) -> Ints:
    """Split a shaded area into the fewest bands whose colors lie near their middle."""
    ends = ((labs[:, None] - labs[None]) ** 2).sum(axis=2)
    one, other = divmod(int(np.argmax(ends)), len(labs))
    along = ((labs - labs[one]) * (labs[other] - labs[one])).sum(axis=1) / max(float(ends.max()), 1e-9)
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


def _shadows(
    colors: Floats, labs: Floats, kinds: tuple[Flags, Flags], touching: Flags, background: Floats
) -> Flags:
    """Return the colors that pass into the background and are darker shades of it, some of them soft."""
    ground = ciede2000(labs, srgb_to_lab(background)) < SAME_COLOR
    soft, flat = kinds
    shade: Flags = shades(colors, background) & ~ground & ~flat
    if not (shade & soft).any():
        return np.zeros(len(colors), dtype=bool)
    links = touching & (shade | ground)[None] & (shade | ground)[:, None]
    reached = np.zeros(len(colors), dtype=bool)
    for start in np.flatnonzero(ground):  # over colors
        reached[_reached(int(start), links)] = True
    return reached & shade


def shades(colors: Floats, background: Floats) -> Flags:
    """Return which colors (k, 3) are the background in shadow: all channels darker by about one factor."""
    part = (colors * background).sum(axis=1) / max(float((background * background).sum()), 1.0)
    offset = np.abs(colors - part[:, None] * background).max(axis=1)
    shade: Flags = (part > _DARKEST_SHADOW) & (part < 1.0) & (offset < _SHADOW_REACH)
    return shade


def _reached(start: int, links: Flags) -> list[int]:
    """Return the clusters that can be reached from one over links, in a stable order."""
    found, waiting = {start}, [start]
    while waiting:
        for other in np.flatnonzero(links[waiting.pop()]):
            if int(other) not in found:
                found.add(int(other))
                waiting.append(int(other))
    return sorted(found)


def _regrouped(clusters: Clusters, joined: Ints) -> Clusters:
    """Give each band its weighted mean color and all its bins."""
    count = len(joined)
    weights = np.bincount(joined, weights=clusters.weights, minlength=count).astype(np.float64)
    colors = clusters.colors.copy()
    for middle in sorted_distinct(joined[joined != np.arange(count)]):  # over colors
        own = joined == middle
        if np.abs(clusters.colors[own] - clusters.colors[middle]).max() < 1e-9:
            continue
        share = clusters.weights[own] / clusters.weights[own].sum()
        colors[middle] = (clusters.colors[own] * share[:, None]).sum(axis=0)
    of_bin = np.where(clusters.of_bin < 0, -1, np.append(joined, -1)[clusters.of_bin])
    return replace(clusters, colors=colors, weights=weights, of_bin=of_bin)
