"""Shading that passes from color to color is one part; colors that meet in an edge stay two.

The border of two neighbors tells, not their colors: of the way from the one's mean color to the other's, an
edge makes at least half within two pixels to either side, shading less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from .mixing import Bytes, Flags
from .modes import Floats, Ints

__all__ = ["Part", "halves", "has_edge", "jumps", "one_for_alike", "parts_of"]

_EDGE = 0.5  # of the way; made edges had 0.6 to 1.1 (JPEG 75), shading up to 0.5
_STEP_PX = 2
_GAP_PX = 8  # steep shading has no calm pixels so far
_LEAST_BORDER = 6  # places at which a border is looked at
_OFF_LINE = 9.0  # levels by which a steep passage strays from the line between its ends; a third color more
_ROUNDS = 6  # after which the cut between two halves stands
_END_SHARE = 0.1  # of an area's pixels whose mean is the color at one end of it
_MOST_SPAN = 20.0
"""CIEDE2000 from end to end of what one color stands for: so each place is within 10 of it, up to which
colors count as one at a glance (`chroma/reference.py`)."""


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


def jumps(
    planes: Sequence[Bytes], numbers: npt.NDArray[np.int32], means: Floats, scale: float
) -> tuple[Ints, Flags]:
    """Return pairs of neighboring areas, and whether they meet in an edge.

    Parameters
    ----------
    planes : three uint8 arrays of shape (h, w)
    numbers : int32 array of shape (h, w)
        Area of each pixel, from 1 on; 0 for pixels of none.
    means : float64 array of shape (k, 3)
        Color of each area.
    scale : float
        Pixels per pixel of the picture as it was drawn, in which the border is measured.

    Returns
    -------
    int64 array of shape (p, 2)
        Areas from 0 on, the smaller first.
    bool array of shape (p,)
        By the median over the border.
    """
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
    width, area = numbers.shape[1], np.ascontiguousarray(numbers).ravel()
    at = np.flatnonzero(area)
    gap = np.diff(at)
    met = (area[at[1:]] != area[at[:-1]]) & (gap <= _GAP_PX * scale) & (at[1:] // width == at[:-1] // width)
    first, last = at[:-1][met], at[1:][met]
    more = np.maximum((round(2 * _STEP_PX * scale) - gap[met]) // 2, 0)
    inside = (first % width >= more) & (last % width + more < width)
    first, last, more = first[inside], last[inside], more[inside]
    own = (area[first - more] == area[first]) & (area[last + more] == area[last])
    first, last, more = first[own], last[own], more[own]

    flat = [np.ascontiguousarray(plane).ravel() for plane in planes]

    def shown(place: Ints) -> Floats:
        return np.stack([plane[place] for plane in flat], axis=1).astype(np.float64)

    one, other = area[first] - 1, area[last] - 1
    way = means[other] - means[one]
    made = ((shown(last + more) - shown(first - more)) * way).sum(axis=1)
    made /= np.maximum((way * way).sum(axis=1), 1.0)
    start, end = shown(first), shown(last)
    step = end - start
    part = ((shown((first + last) // 2) - start) * step).sum(axis=1) / np.maximum(
        (step * step).sum(axis=1), 1.0
    )
    off = np.abs(shown((first + last) // 2) - start - np.clip(part, 0.0, 1.0)[:, None] * step).max(axis=1)
    made[off > _OFF_LINE] = 1.0
    return np.minimum(one, other).astype(np.int64) * len(means) + np.maximum(one, other), made


def has_edge(planes: Sequence[Bytes], pixels: Ints, upper: Flags, scale: float) -> bool:
    """Return whether the two halves of an area (n pixels) meet in an edge: then they are two colors."""
    row, column = np.divmod(pixels, planes[0].shape[1])
    top, left = int(row.min()), int(column.min())
    box = (slice(top, int(row.max()) + 1), slice(left, int(column.max()) + 1))
    cut = [plane[box] for plane in planes]
    numbers = np.zeros(cut[0].shape, dtype=np.int32)
    numbers[row - top, column - left] = 1 + upper
    values = _values(planes, pixels)
    _, edge = jumps(cut, numbers, np.stack([values[~upper].mean(axis=0), values[upper].mean(axis=0)]), scale)
    return bool(edge.any())


def halves(planes: Sequence[Bytes], pixels: Ints) -> Flags:
    """Return which pixels of an area lie beyond the middle of its colors, along their main axis."""
    along = _along(_values(planes, pixels))
    cut = along.mean()
    upper: Flags = along > cut
    for _ in range(_ROUNDS):
        if upper.all() or not upper.any():
            break
        cut = (along[upper].mean() + along[~upper].mean()) / 2
        upper = along > cut
    return upper


def parts_of(planes: Sequence[Bytes], pixels: Ints, group: int) -> list[Part]:
    """Return an area as one part, or cut in two at its middle where one color cannot stand for it."""
    whole = _part(planes, pixels, group)
    upper = halves(planes, pixels)
    if whole.reach <= _MOST_SPAN / 2 or upper.all() or not upper.any():
        return [whole]
    return [_part(planes, pixels[~upper], group), _part(planes, pixels[upper], group)]


def _part(planes: Sequence[Bytes], pixels: Ints, group: int) -> Part:
    values = _values(planes, pixels)
    along = _along(values)
    count = max(round(_END_SHARE * len(along)), 1)
    low = along <= np.partition(along, count - 1)[count - 1]
    high = along >= np.partition(along, len(along) - count)[len(along) - count]
    ends = srgb_to_lab(np.stack([values[low].mean(axis=0), values[high].mean(axis=0)]))
    return Part(pixels, values.mean(axis=0), group, float(ciede2000(ends[0], ends[1])) / 2)


def _values(planes: Sequence[Bytes], pixels: Ints) -> Floats:
    return np.stack([plane.ravel()[pixels] for plane in planes[:3]], axis=1).astype(np.float64)


def _along(values: Floats) -> Floats:
    """Return colors (n, 3) as places on the line along which they spread most."""
    off = values - values.mean(axis=0)
    _, axes = np.linalg.eigh(off.T @ off)
    along: Floats = off @ axes[:, -1]
    return along


def one_for_alike(parts: Sequence[Part], edges: Flags) -> Floats:
    """Return a color for each part: shaded areas that show each other's color get the mean of them all.

    Parameters
    ----------
    parts : sequence of Part
    edges : bool array of shape (g, g)
        Which groups meet in an edge: these keep colors of their own.

    Notes
    -----
    From the heaviest on, a part takes the nearest color that was given already, among those whose shades
    include its own.
    """
    colors = np.array([part.color for part in parts])
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
