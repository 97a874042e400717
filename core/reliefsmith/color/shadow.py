"""Shadows on the background: found by their slopes, told from greys of the art."""

from __future__ import annotations

import numpy as np

from ..chroma import ciede2000, srgb_to_lab
from .background import SAME_COLOR
from .mixing import BINS, Bytes, Flags
from .modes import Bins, Floats, Ints
from .runs import find_pieces
from .soft import Picture, shades

__all__ = ["mark_shadow", "may_have_shadow"]

_SHADOW_BINS = 4  # histogram bins of calm shadow that a shadow's slope shows at least
_SHADOW_SHARE = 0.0005  # of the picture, at least, in shadow
_DARKER = 0.97  # of the background: what compression leaves is lighter
_BETWEEN_SHARE = 0.08  # of a shadow that has a quarter to three quarters of its depth
_SOFT_ART_SHARE = 0.1  # of the shadow's pixels that other art must have, else the art itself is soft
_BEND, _BEND_LOSSY = 4, 6  # levels of second difference in a shadow's slope; edges of anti-aliasing bend more
_MOST_SLOPE = 16  # levels from a pixel to the next in it
_EVEN, _EVEN_LOSSY = 1, 4  # levels that an even grey may vary
_SOLID_SHARE = 0.04  # of the longest side: the side of a square of one grey that no shadow shows
_LEAST_PX = 16  # of background that a shadow passes into


def may_have_shadow(bins: Bins, background: Floats, size: int) -> bool:
    """Return whether calm pixels show several darker tones of the background, of `size` pixels in all."""
    dark = shades(bins.means, background) & (bins.means.sum(axis=1) < _DARKER * background.sum())
    return bool(np.count_nonzero(dark) >= _SHADOW_BINS and bins.counts[dark].sum() >= _SHADOW_SHARE * size)


def mark_shadow(picture: Picture, kinds: Bytes, background: Floats) -> bool:
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


def _falling_softly(picture: Picture, soft: Ints, background: Floats) -> tuple[Ints, int]:
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


def _solid(picture: Picture, shade: Flags) -> Ints:
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


def _smooth_shade(picture: Picture, background: Floats) -> Ints:
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
