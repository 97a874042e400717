"""Shading that passes from color to color is one part; colors that meet in an edge stay two.

The border of two neighbors tells, not their colors: of the way from the one's mean color to the other's, an
edge makes at least half within two pixels to either side, shading less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.explain import mixed
from ..colorimetry.reference import TOLD_APART
from .cost import SPREAD_PX
from .mixing import Bytes, Flags
from .modes import Floats, Ints

__all__ = ["Part", "borders", "halves", "one_for_alike", "parts_of"]

_EDGE = 0.5  # of the way; made edges had 0.6 to 1.1 (JPEG 75), shading up to 0.5
_STEP_PX = 2  # steep shading has no calm pixels for twice the reach of a blur
_LEAST_BORDER = 6  # places at which a border is looked at; flat within 2 times; with one, a JPEG lost a color
_END_SHARE = 0.1  # of an area's pixels whose mean is the color at one end of it; flat within a factor of 2
_MOST_SPAN = 2 * TOLD_APART
"""CIEDE2000 from end to end of what one color stands for: so each place is within 10 of it, up to which
colors count as one at a glance (`colorimetry/reference.py`)."""


@dataclass(frozen=True, slots=True)
class Part:
    """Pixels that get one color.

    Parameters
    ----------
    pixels : int64 array of shape (n,)
    color : float64 array of shape (3,)
        Their mean.
    group : int
        Of areas that pass into each other.
    reach : float
        Half of the CIEDE2000 from end to end.
    """

    pixels: Ints
    color: Floats
    group: int
    reach: float


def borders(planes: Sequence[Bytes], areas: Sequence[Ints], scale: float) -> tuple[Ints, Flags]:
    """Return pairs of neighboring areas, and whether they meet in an edge.

    Parameters
    ----------
    planes : three uint8 arrays of shape (h, w)
    areas : sequence of int64 arrays
        Flat positions of the pixels of each.
    scale : float
        Pixels per pixel of the picture as it was drawn, in which the border is measured.

    Returns
    -------
    int64 array of shape (p, 2)
        Areas from 0 on, the smaller first.
    bool array of shape (p,)
        By the median over the border.
    """
    numbers = np.zeros(planes[0].shape, dtype=np.int32)
    for number, pixels in enumerate(areas, start=1):
        numbers.ravel()[pixels] = number
    means = np.array([_mean_color(planes, pixels) for pixels in areas]).reshape(-1, len(planes))
    turned = [plane.T for plane in planes]
    sides = _along_rows(planes, numbers, means, scale), _along_rows(turned, numbers.T, means, scale)
    keys, made = (np.concatenate(both) for both in zip(*sides, strict=True))
    order = np.lexsort((made, keys))
    pair, first, count = np.unique(keys[order], return_index=True, return_counts=True)
    long = count >= _LEAST_BORDER
    middle = made[order[(first + count // 2)[long]]]
    return np.stack(np.divmod(pair[long], len(means)), axis=1), middle >= _EDGE


def _along_rows(
    planes: Sequence[Bytes], numbers: npt.NDArray[np.int32], means: Floats, scale: float
) -> tuple[Ints, Floats]:
    """Return the key of the pair, and the part of the way made, where two areas meet in a row."""
    area = np.ascontiguousarray(numbers).ravel()
    first, last, more = _meetings(area, numbers.shape[1], scale)
    flat = [np.ascontiguousarray(plane).ravel() for plane in planes]

    def shown(place: Ints) -> Floats:
        return np.stack([plane[place] for plane in flat], axis=1).astype(np.float64)

    one, other = area[first] - 1, area[last] - 1
    change, way = shown(last + more) - shown(first - more), means[other] - means[one]
    made, _ = mixed(change.T, np.zeros_like(way.T), way.T, under=np.inf, over=np.inf)
    return np.minimum(one, other).astype(np.int64) * len(means) + np.maximum(one, other), made


def _meetings(area: npt.NDArray[np.int32], width: int, scale: float) -> tuple[Ints, Ints, Ints]:
    """Return the last pixel of one area and the first of the next in a row, and how far to step into both."""
    at = np.flatnonzero(area)
    gap = np.diff(at)
    met = (
        (area[at[1:]] != area[at[:-1]])
        & (gap <= 2 * SPREAD_PX * scale)
        & (at[1:] // width == at[:-1] // width)
    )
    first, last = at[:-1][met], at[1:][met]
    more = np.maximum((round(2 * _STEP_PX * scale) - gap[met]) // 2, 0)
    inside = (first % width >= more) & (last % width + more < width)
    first, last, more = first[inside], last[inside], more[inside]
    own = (area[first - more] == area[first]) & (area[last + more] == area[last])
    return first[own], last[own], more[own]


def halves(planes: Sequence[Bytes], pixels: Ints) -> Flags:
    """Return which pixels of an area, of two colors at least, lie beyond the middle of its colors.

    Where the means of the two halves lie farthest apart for their sizes, by N. Otsu, "A Threshold Selection
    Method from Gray-Level Histograms", IEEE Transactions on Systems, Man and Cybernetics 9 (1979): of a small
    patch on an even area, the mean of all would cut the area through its noise.
    """
    along = _along(planes, pixels)
    counts = np.bincount(along).astype(np.float64)
    number, total = np.cumsum(counts)[:-1], np.cumsum(counts * np.arange(len(counts)))
    rest, all_ = counts.sum() - number, total[-1]
    between = (all_ * number / counts.sum() - total[:-1]) ** 2 / np.maximum(number * rest, 1.0)
    beyond: Flags = along > np.argmax(between)
    return beyond


def parts_of(planes: Sequence[Bytes], pixels: Ints, group: int) -> list[Part]:
    """Return an area as one part, or cut in two at its middle where one color cannot stand for it."""
    whole = _part(planes, pixels, group)
    if whole.reach <= _MOST_SPAN / 2:
        return [whole]
    upper = halves(planes, pixels)
    return [_part(planes, pixels[~upper], group), _part(planes, pixels[upper], group)]


def _part(planes: Sequence[Bytes], pixels: Ints, group: int) -> Part:
    along = _along(planes, pixels)
    count = max(round(_END_SHARE * len(along)), 1)
    low, high = np.partition(along, (count - 1, len(along) - count))[[count - 1, len(along) - count]]
    ends = [_mean_color(planes, pixels[along <= low]), _mean_color(planes, pixels[along >= high])]
    one, other = srgb_to_lab(np.stack(ends))
    return Part(pixels, _mean_color(planes, pixels), group, float(ciede2000(one, other)) / 2)


def _mean_color(planes: Sequence[Bytes], pixels: Ints) -> Floats:
    """Return the mean color (3,) of some pixels, 0 of none."""
    return np.array([plane.ravel()[pixels].sum(dtype=np.float64) for plane in planes]) / max(len(pixels), 1)


def _along(planes: Sequence[Bytes], pixels: Ints) -> Bytes:
    """Return the values (n,) of the channel in which an area spreads most."""
    channels = [plane.ravel()[pixels] for plane in planes]
    return channels[int(np.argmax([channel.std() for channel in channels]))]


def one_for_alike(parts: Sequence[Part], edges: Flags) -> Floats:
    """Return a color for each part: shaded areas that show each other's color get the mean of them all.

    Parameters
    ----------
    parts : sequence of Part
    edges : bool array of shape (g, g)
        Which groups meet in an edge: these keep colors of their own.

    Notes
    -----
    From the heaviest on, a part takes the nearest color that was given already, of those that it shows itself
    or whose shades include its own.
    """
    colors = np.array([part.color for part in parts]).reshape(-1, 3)
    labs = srgb_to_lab(colors)
    weights = np.array([len(part.pixels) for part in parts], dtype=np.float64)
    given: list[list[int]] = []
    for own in np.argsort(-weights, kind="stable").tolist():
        gaps = ciede2000(labs[[members[0] for members in given]].reshape(-1, 3), labs[own])
        near = [
            (gap, rank)
            for rank, (gap, members) in enumerate(zip(gaps, given, strict=True))
            if gap <= parts[members[0]].reach
            and not any(_apart(parts[own], parts[k], edges) for k in members)
        ]
        if near:
            given[min(near)[1]].append(own)
        else:
            given.append([own])
    for members in given:
        share = weights[members] / weights[members].sum()
        colors[members] = (colors[members] * share[:, None]).sum(axis=0)
    return colors


def _apart(one: Part, other: Part, edges: Flags) -> bool:
    return one.group == other.group or bool(edges[one.group, other.group])
