"""Soft changes of color evened out: shadows become background, a shaded area one flat color or few bands.

The result is a picture as if drawn flat, its edge pixels too: an edge pixel is a mix of what lies on its two
sides, and changes by the same mix of their changes. So everything after finds flat colors that meet at edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from ..progress import Progress, Steps
from .background import SAME_COLOR
from .mixing import BINS, Bytes, Flags, Mixing
from .modes import Bins, Floats, Ints
from .runs import Pieces, find_pieces
from .soft import may_be_shaded, shades, split

__all__ = ["evened_steps"]

_SHADOW_BINS = 4  # histogram bins of calm shadow that a shadow's slope shows at least
_SHADOW_SHARE = 0.0005  # of the picture, at least, in shadow
_DARKER = 0.97  # of the background: what compression leaves is lighter
_BETWEEN_SHARE = 0.08  # of a shadow that has a quarter to three quarters of its depth
_SOFT_ART_SHARE = 0.1  # of the shadow's pixels that other art must have, else the art itself is soft
_BEND, _BEND_LOSSY = 4, 6  # levels of second difference in a shadow's slope; edges of anti-aliasing bend more
_MOST_SLOPE = 16  # levels from a pixel to the next in it
_EVEN, _EVEN_LOSSY = 1, 4  # levels that an even grey may vary
_SOLID_SHARE = 0.04  # of the longest side: the side of a square of one grey that no shadow shows
_LEAST_SPREAD, _LEAST_SPREAD_LOSSY = 1.2, 2.0  # levels: standard deviation of an area with a slope
_LEAST_PX = 16
_NARROW = 5.0  # levels of standard deviation up to which an area is surely one band
_MOST_AREAS = 300  # evened, the largest first
_ALIKE = 6.0  # dE00 up to which shaded areas show one color
_SIDE_PX = 5  # from an edge pixel to its two sides
_SOFTENED = 16.0  # levels added before a factor is taken, so that darkness is not divided by
_CLEAR = 8  # opacity of 255 up to which a pixel is background

_Wide = npt.NDArray[np.int32]
_AROUND = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1))


@dataclass(frozen=True, slots=True)
class _Picture:
    """What evening starts from: planes, calm pixels, their histogram, noise; pixels per source pixel."""

    mixing: Mixing
    calm: Flags
    keys: npt.NDArray[np.int32]
    bins: Bins
    sigma: float
    lossy: bool
    scale: float


def evened_steps(
    mixing: Mixing,
    calm: Flags,
    keys: npt.NDArray[np.int32],
    bins: Bins,
    *,
    background: Floats | None,
    sigma: float,
    lossy: bool,
    scale: float,
) -> Steps[tuple[Mixing, bool] | None]:
    """Even out shadows on the background and shading within areas.

    Parameters
    ----------
    mixing : Mixing
    calm : bool array of shape (h, w)
    keys : int32 array of shape (h, w)
        Histogram bin of each pixel.
    bins : Bins
        The calm pixels by color.
    background : float64 array of shape (3,) or None
        None where it is transparent or there is none.
    sigma : float
        Noise in levels.
    lossy : bool
    scale : float
        Pixels per pixel of the source.

    Returns
    -------
    (Mixing, bool) or None
        The picture evened, and whether it had a shadow; None where there is nothing soft, the usual case.
    """
    yield Progress("looking for shading", 0.2)
    shaded = may_be_shaded(bins, sigma=sigma, lossy=lossy)
    shadowed = background is not None and _may_have_shadow(bins, background, calm.size)
    if not shaded and not shadowed:
        return None
    picture = _Picture(mixing, calm, keys, bins, sigma, lossy, scale)
    kinds = calm.astype(np.uint8)
    shadow = False
    if background is not None and shadowed:
        shadow = _mark_shadow(picture, kinds, background)
    if not shaded and not shadow:
        return None
    yield Progress("evening shading", 0.22)
    goals = _goals(picture, find_pieces(kinds), background, shaded=shaded)
    yield Progress("evening edges beside shading", 0.25)
    return Mixing(_with_edges(picture, kinds, goals), mixing.opaque), shadow


def _may_have_shadow(bins: Bins, background: Floats, size: int) -> bool:
    dark = shades(bins.means, background) & (bins.means.sum(axis=1) < _DARKER * background.sum())
    return bool(np.count_nonzero(dark) >= _SHADOW_BINS and bins.counts[dark].sum() >= _SHADOW_SHARE * size)


def _mark_shadow(picture: _Picture, kinds: Bytes, background: Floats) -> bool:
    """Set shadow and background that pass into each other to 2 in the kinds; tell whether there is shadow.

    Kinds are 1 for calm pixels and 0 for others. A shadow's slope may be too steep to be calm, but it does
    not bend as an edge does.
    """
    bins = picture.bins
    shade = _of_bins(bins, shades(bins.means, background))
    ground = _of_bins(bins, ciede2000(bins.labs, srgb_to_lab(background)) < SAME_COLOR)
    linked = kinds.copy()
    linked.ravel()[_smooth_shade(picture, background)] = 1
    linked.ravel()[_solid(picture, (shade & ~ground)[picture.keys] & picture.calm)] = 0
    pieces = find_pieces(linked)
    near = ground[picture.keys] & picture.calm
    open_ = (pieces.labels == 1) & (pieces.sums(near) >= _LEAST_PX)
    reached = pieces.pixels(open_)
    calm = picture.calm.ravel()[reached]
    soft = reached[(shade | ground)[picture.keys.ravel()[reached]] | ~calm]
    soft, dark = _falling_softly(picture, soft, background)
    other = np.count_nonzero(picture.calm) - np.count_nonzero(calm)
    if dark < _SHADOW_SHARE * picture.calm.size or other < _SOFT_ART_SHARE * dark:
        return False
    kinds.ravel()[soft] = 2
    return True


def _falling_softly(picture: _Picture, soft: Ints, background: Floats) -> tuple[Ints, int]:
    """Leave out dark regions without tones between the background's and their own, as a grey of the art is.

    Also tells how many dark pixels are left.
    """
    tone = np.zeros(picture.calm.size, dtype=np.int32)
    for plane in picture.mixing.planes[:3]:
        tone[soft] += plane.ravel()[soft]
    depth = np.maximum(int(background.sum()) - tone, 0)
    dark = soft[depth[soft] > (1.0 - _DARKER) * background.sum()]
    marks = np.zeros(picture.calm.shape, dtype=np.uint8)
    marks.ravel()[dark] = 1
    pieces = find_pieces(marks)
    region = np.repeat(pieces.of_run, pieces.lengths)[dark]
    deepest = np.zeros(len(pieces.areas), dtype=np.int32)
    np.maximum.at(deepest, region, depth[dark])
    part = depth[dark] / np.maximum(deepest[region], 1)
    between = np.bincount(region[(part > 0.25) & (part < 0.75)], minlength=len(pieces.areas))
    hard = (pieces.labels == 1) & (between < _BETWEEN_SHARE * pieces.areas)
    marks.ravel()[pieces.pixels(hard)] = 2
    return soft[marks.ravel()[soft] != 2], int(pieces.areas[(pieces.labels == 1) & ~hard].sum())


def _solid(picture: _Picture, shade: Flags) -> Ints:
    """Return the flat positions of even areas too wide for a shadow: greys of the art itself.

    Where a shadow beside it is as dark as the grey, nothing else tells them apart.
    """
    tone = picture.mixing.planes[0].astype(np.uint16)
    for plane in picture.mixing.planes[1:3]:
        tone += plane
    most = 3 * (_EVEN_LOSSY if picture.lossy else _EVEN)
    reach = max(round(_SOLID_SHARE * max(shade.shape)), 4)
    wide = shade
    covered = 1
    while covered < reach:  # doubled each time
        more = min(covered, reach - covered)
        wide = wide[:-more] & wide[more:]
        wide = wide[:, :-more] & wide[:, more:]
        covered += more
    row, column = np.nonzero(wide)
    corners = [tone[row + down, column + right] for down in (0, reach - 1) for right in (0, reach - 1)]
    middle = tone[row + reach // 2, column + reach // 2]
    gaps = [np.abs(corner.astype(np.int16) - middle.astype(np.int16)) <= most for corner in corners]
    even = np.logical_and.reduce(gaps)
    row, column, middle = row[even] + reach // 2, column[even] + reach // 2, middle[even]
    solid: list[Ints] = []
    while len(middle):  # over greys of the art
        own = np.bincount(middle).argmax()
        like = shade & (np.abs(tone.astype(np.int16) - np.int16(own)) <= most)
        pieces = find_pieces(like.astype(np.uint8))
        inner = np.zeros(shade.shape, dtype=bool)
        inner[row, column] = True
        solid.append(pieces.pixels((pieces.labels == 1) & (pieces.sums(inner) > 0)))
        left = np.abs(middle.astype(np.int64) - own) > most
        row, column, middle = row[left], column[left], middle[left]
    return np.concatenate(solid) if solid else np.zeros(0, dtype=np.int64)


def _of_bins(bins: Bins, chosen: Flags) -> Flags:
    table = np.zeros(BINS, dtype=bool)
    table[bins.keys] = chosen
    return table


def _smooth_shade(picture: _Picture, background: Floats) -> Ints:
    """Return the flat positions of pixels that are not calm, but lie on a smooth slope of the background."""
    height, width = picture.calm.shape
    inner = np.zeros((height, width), dtype=bool)
    inner[1:-1, 1:-1] = ~picture.calm[1:-1, 1:-1]
    at = np.flatnonzero(inner)
    planes = [plane.ravel() for plane in picture.mixing.planes[:3]]
    at = at[shades(np.stack([plane[at] for plane in planes], axis=1).astype(np.float64), background)]
    most = (_BEND_LOSSY if picture.lossy else _BEND) / max(picture.scale, 1.0) ** 2
    for plane in planes:
        for step in (1, width):
            before, here, after = (plane[at + shift].astype(np.int16) for shift in (-step, 0, step))
            smooth = np.abs(before - 2 * here + after) <= most
            at = at[smooth & (np.abs(after - before) <= 2 * _MOST_SLOPE)]
    return at


def _goals(
    picture: _Picture, pieces: Pieces, background: Floats | None, *, shaded: bool
) -> tuple[Bytes, ...]:
    """Return the planes with every soft area in its flat colors; edges stay as they are."""
    planes = tuple(plane.copy() for plane in picture.mixing.planes)
    if background is not None:
        _fill(planes, pieces.pixels(pieces.labels == 2), background)
    if not shaded:
        return planes
    means, spread = _statistics(picture.mixing, pieces)
    least = (_LEAST_SPREAD_LOSSY if picture.lossy else _LEAST_SPREAD) + picture.sigma
    soft = np.flatnonzero((pieces.labels == 1) & (spread > least) & (pieces.areas >= _LEAST_PX))
    soft = soft[np.argsort(-pieces.areas[soft], kind="stable")][:_MOST_AREAS]
    places: list[Ints] = []
    colors: list[Floats] = []
    for piece in soft:  # over areas
        own = pieces.pixels(np.arange(len(pieces.areas)) == piece)
        parts = _bands_of(picture, own) if spread[piece] > _NARROW else [(own, means[piece])]
        places += [pixels for pixels, _ in parts]
        colors += [color for _, color in parts]
    if places:
        weights = np.array([len(pixels) for pixels in places], dtype=np.float64)
        for pixels, color in zip(places, _one_for_alike(np.array(colors), weights), strict=True):
            _fill(planes, pixels, color)
    return planes


def _fill(planes: tuple[Bytes, ...], pixels: Ints, color: Floats) -> None:
    for plane, value in zip(planes, color, strict=False):
        plane.ravel()[pixels] = np.uint8(np.clip(value + 0.5, 0.0, 255.0))


def _statistics(mixing: Mixing, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return each piece's mean color (m, 3) and the greatest standard deviation (m,) of its channels."""
    count = len(pieces.areas)
    means, spread = np.empty((count, 3)), np.zeros(count)
    for channel, plane in enumerate(mixing.planes[:3]):
        flat = plane.ravel()
        by_run = np.add.reduceat(flat, pieces.starts, dtype=np.int64)
        squares = np.add.reduceat(flat.astype(np.uint16) ** 2, pieces.starts, dtype=np.int64)
        mean = np.bincount(pieces.of_run, weights=by_run, minlength=count) / pieces.areas
        square = np.bincount(pieces.of_run, weights=squares, minlength=count) / pieces.areas
        means[:, channel] = mean
        np.maximum(spread, np.sqrt(np.maximum(square - mean * mean, 0.0)), out=spread)
    return means, spread


def _bands_of(picture: _Picture, pixels: Ints) -> list[tuple[Ints, Floats]]:
    """Split an area into bands: the pixels and the mean color of each."""
    _, place = np.unique(picture.keys.ravel()[pixels], return_inverse=True)
    place = place.reshape(-1)
    weights = np.bincount(place).astype(np.float64)
    values = np.stack([plane.ravel()[pixels] for plane in picture.mixing.planes[:3]], axis=1)
    means = np.stack([np.bincount(place, weights=values[:, k]) / weights for k in range(3)], axis=1)
    band = split(srgb_to_lab(means), weights)
    parts = []
    for number in range(int(band.max()) + 1):
        own = band == number
        share = weights[own] / weights[own].sum()
        parts.append((pixels[own[place]], (means[own] * share[:, None]).sum(axis=0)))
    return parts


def _one_for_alike(colors: Floats, weights: Floats) -> Floats:
    """Give shaded areas whose mean colors are near to each other the mean of them all."""
    labs = srgb_to_lab(colors)
    of_color = np.full(len(colors), -1, dtype=np.int64)
    for heavy in np.argsort(-weights, kind="stable"):  # over areas
        if of_color[heavy] < 0:
            near = (ciede2000(labs, labs[heavy]) < _ALIKE) & (of_color < 0)
            of_color[near] = heavy
    total = np.bincount(of_color, weights=weights, minlength=len(colors))
    sums = [np.bincount(of_color, weights=weights * colors[:, k], minlength=len(colors)) for k in range(3)]
    result: Floats = np.stack(sums, axis=1)[of_color] / total[of_color][:, None]
    return result


def _with_edges(picture: _Picture, kinds: Bytes, goals: tuple[Bytes, ...]) -> tuple[Bytes, ...]:
    """Change the pixels beside evened ones by the mix of what their two sides changed by."""
    side, moved = _sides(picture, kinds, goals)
    edges = np.flatnonzero(_widened(moved, _SIDE_PX) & (side == 0))
    first, second = _two_sides(side, edges)
    known = first >= 0
    edges, first, second = edges[known], first[known], second[known]
    second = np.where(second < 0, first, second)

    def at(planes: tuple[Bytes, ...], pixels: Ints) -> Floats:
        return np.stack([plane.ravel()[pixels] for plane in planes], axis=1).astype(np.float64)

    planes = picture.mixing.planes
    value, start, end = at(planes, edges), at(planes, first), at(planes, second)
    axis = end - start
    part = ((value - start) * axis).sum(axis=1) / np.maximum((axis * axis).sum(axis=1), 1.0)
    part = np.clip(part, 0.0, 1.0)[:, None]
    mix = start + part * axis
    change = (1.0 - part) * (at(goals, first) - start) + part * (at(goals, second) - end)
    # As a factor, so that a line of a third, dark color stays dark; exact where the pixel is the mix.
    value = (value + _SOFTENED) * (mix + change + _SOFTENED) / (mix + _SOFTENED) - _SOFTENED
    for channel, plane in enumerate(goals):
        plane.ravel()[edges] = np.clip(value[:, channel] + 0.5, 0.0, 255.0).astype(np.uint8)
    return goals


def _sides(picture: _Picture, kinds: Bytes, goals: tuple[Bytes, ...]) -> tuple[_Wide, Flags]:
    """Return the number of the area that each calm pixel belongs to, 0 for none, and which pixels moved."""
    kinds = kinds.copy()
    if len(goals) == 4:
        kinds[goals[3] <= _CLEAR] = 3
    pieces = find_pieces(kinds)
    number = np.where(pieces.labels > 0, np.arange(1, len(pieces.areas) + 1), 0)
    side = np.repeat(number[pieces.of_run], pieces.lengths).astype(np.int32).reshape(kinds.shape)
    moved = np.zeros(kinds.shape, dtype=bool)
    for goal, plane in zip(goals, picture.mixing.planes, strict=True):
        moved |= goal != plane
    return side, moved


def _widened(flags: Flags, reach: int) -> Flags:
    wide = flags.copy()
    for shift in range(1, reach + 1):
        wide[shift:] |= flags[:-shift]
        wide[:-shift] |= flags[shift:]
    tall = wide.copy()
    for shift in range(1, reach + 1):
        wide[:, shift:] |= tall[:, :-shift]
        wide[:, :-shift] |= tall[:, shift:]
    return wide


def _two_sides(side: _Wide, edges: Ints) -> tuple[Ints, Ints]:
    """Return for each pixel the nearest pixel of an area, and the nearest one of another; -1 for none."""
    height, width = side.shape
    row, column = np.divmod(edges, width)
    first, second = np.full(len(edges), -1, dtype=np.int64), np.full(len(edges), -1, dtype=np.int64)
    own = np.zeros(len(edges), dtype=np.int32)
    flat = side.ravel()
    for reach in range(1, _SIDE_PX + 1):
        for down, right in _AROUND:
            at = np.clip(row + reach * down, 0, height - 1) * width
            at += np.clip(column + reach * right, 0, width - 1)
            seen = flat[at]
            new = (first < 0) & (seen > 0)
            other = (first >= 0) & (second < 0) & (seen > 0) & (seen != own)
            first[new], own[new] = at[new], seen[new]
            second[other] = at[other]
    return first, second
