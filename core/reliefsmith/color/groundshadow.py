"""Shadows on the background: found by their slopes, told from greys of the art."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.window import amid, widened
from ..polygons.runs import find_pieces
from .background import LIKE_BACKGROUND, SEEN_APART, shades
from .capture import NOISE, Picture
from .mixing import BINS, CHANNELS, Bytes, Flags
from .modes import Floats, Ints

__all__ = ["mark_shadow", "may_have_shadow"]

_SHADOW_SHARE = 0.007
"""Of the picture, at least, in shadow. Made shadows had 2.6 % and more, other dark .07 % (325 pictures)."""

_DARKER = 0.97  # of the background: what compression leaves is lighter
_BEND, _BEND_LOSSY = NOISE, 6  # levels that a shadow's slope bends by; with 4 a compressed one left a color
_EVEN, _EVEN_LOSSY = 1, round(NOISE)  # levels that an even grey may vary
_SOLID_SHARE = 1 / 80
"""Of the longest side: half the side of a square of one grey that no shadow shows. From 1/110 to 1/160 one
picture of 50 gets its second color, but tints that compression leaves become colors; 1/40 loses one."""


def may_have_shadow(picture: Picture, background: Floats) -> bool:
    """Return whether enough pixels show darker tones of the background, calm ones or on smooth slopes.

    A photograph has no shadow left: its light was divided out, and its lens blurs the edges of greys.
    """
    if picture.capture.photographed:
        return False
    bins = picture.bins
    dark = shades(bins.means, background) & (bins.means.sum(axis=1) < _DARKER * background.sum())
    count = bins.counts[dark].sum() + len(_smooth_shade(picture, background))
    return bool(count >= _SHADOW_SHARE * picture.calm.size)


def mark_shadow(picture: Picture, kinds: Bytes, background: Floats) -> bool:
    """Set shadow and background that pass into each other to 2 in the kinds; tell whether there is shadow.

    Kinds are 1 for calm pixels and 0 for others. A shadow's slope may be too steep to be calm, but it does
    not bend as an edge does.
    """
    bins = picture.bins
    apart = ciede2000(bins.labs, srgb_to_lab(background))
    darker = shades(bins.means, background)
    seen = _of_bins(picture, darker & (apart >= SEEN_APART))
    tones = _of_bins(picture, darker | (apart < LIKE_BACKGROUND))
    near = _of_bins(picture, apart < LIKE_BACKGROUND)
    linked = kinds.copy()
    linked.ravel()[_smooth_shade(picture, background)] = 1
    solid = _solid(picture, seen & picture.calm, linked > 0)
    linked.ravel()[solid] = 0
    pieces = find_pieces(linked)
    open_ = (pieces.labels == 1) & (pieces.sums(near & picture.calm) > 0)
    reached = pieces.pixels(open_)
    calm = picture.calm.ravel()[reached]
    soft = reached[tones.ravel()[reached] | ~calm]
    tone = _tone(picture).ravel()[soft]
    dark = np.count_nonzero(tone < _DARKER * background.sum())
    other = np.count_nonzero(picture.calm) - np.count_nonzero(calm)
    if dark < _SHADOW_SHARE * picture.calm.size or other < 0.5 * dark:  # else the art itself is soft
        return False
    kinds.ravel()[soft] = 2
    deepest = int(tone.min())
    closed = kinds.copy()
    closed.ravel()[solid] = 0
    kinds.ravel()[_pockets(picture, closed, tones, deepest)] = 2
    return True


def _solid(picture: Picture, shade: Flags, smooth: Flags) -> Ints:
    """Return the flat positions of even areas too wide for a shadow: greys of the art itself.

    Where a shadow beside it is as dark as the grey, nothing else tells them apart.
    """
    tone = _tone(picture)
    most = _most_uneven(picture)
    reach = max(round(_SOLID_SHARE * max(shade.shape)), 1)
    row, column = np.nonzero(amid(shade, reach))
    middle = tone[row, column]
    even = np.ones(len(middle), dtype=bool)
    for down in (-reach, reach):
        for right in (-reach, reach):
            even &= np.abs(tone[row + down, column + right] - middle) <= most
    row, column, middle = row[even], column[even], middle[even]
    half = max((reach - 1) // 2, 1)
    solid = np.zeros(shade.shape, dtype=bool)
    while len(middle):  # over greys of the art
        own = int(np.bincount(middle).argmax())
        like = shade & (np.abs(tone - own) <= most)
        # A shadow passes through the same grey beside it, but in a strip.
        core = find_pieces(widened(amid(like, half), half).astype(np.uint8))
        inner = np.zeros(shade.shape, dtype=bool)
        inner[row, column] = True
        wide = np.flatnonzero((core.labels == 1) & (core.sums(inner) > 0))
        for pixels in core.pixels_of(wide)[: len(wide)]:  # over areas
            area = np.zeros(shade.shape, dtype=bool)
            area.ravel()[pixels] = True
            area = like & widened(area, reach)
            rim = widened(area, 1) & ~area
            # Else it fades into what lies round it.
            if np.count_nonzero(rim & smooth) < 0.5 * np.count_nonzero(rim):
                solid |= area
        left = np.abs(middle - own) > most
        row, column, middle = row[left], column[left], middle[left]
    return np.flatnonzero(solid)


def _most_uneven(picture: Picture) -> int:
    return CHANNELS * (_EVEN_LOSSY if picture.capture.lossy else _EVEN)


def _tone(picture: Picture) -> npt.NDArray[np.int16]:
    tone: npt.NDArray[np.int16] = np.sum(picture.mixing.planes[:CHANNELS], axis=0, dtype=np.int16)
    return tone


def _pockets(picture: Picture, kinds: Bytes, shade: Flags, deepest: int) -> Ints:
    """Return the flat positions of small places in shadow that the art closes in: they are not even."""
    enclosed = find_pieces((kinds == 1).astype(np.uint8))
    count = len(enclosed.areas)
    whole = enclosed.sums(shade) > 0.5 * enclosed.areas
    candidate = (enclosed.labels == 1) & whole
    pixels = enclosed.pixels(candidate)
    piece = np.repeat(enclosed.of_run, enclosed.lengths)[pixels]
    tone = _tone(picture).ravel()[pixels]
    low, high = np.full(count, CHANNELS * 255, dtype=np.int16), np.zeros(count, dtype=np.int16)
    np.minimum.at(low, piece, tone)
    np.maximum.at(high, piece, tone)
    return enclosed.pixels(candidate & (high - low > 2 * _most_uneven(picture)) & (low >= deepest))


def _of_bins(picture: Picture, chosen: Flags) -> Flags:
    """Return which pixels (h, w) are of the chosen bins."""
    table = np.zeros(BINS, dtype=bool)
    table[picture.bins.keys] = chosen
    return np.take(table, picture.keys)


def _smooth_shade(picture: Picture, background: Floats) -> Ints:
    """Return the flat positions of pixels that are not calm, but lie on a smooth slope of the background."""
    height, width = picture.calm.shape
    inner = np.zeros((height, width), dtype=bool)
    inner[1:-1, 1:-1] = ~picture.calm[1:-1, 1:-1]
    at = np.flatnonzero(inner)
    planes = [plane.ravel() for plane in picture.mixing.planes[:CHANNELS]]
    at = at[shades(np.stack([plane[at] for plane in planes], axis=1).astype(np.float64), background)]
    most = (_BEND_LOSSY if picture.capture.lossy else _BEND) / picture.capture.enlarged**2
    for plane in planes:
        for step in (1, width):
            before, here, after = (plane[at + shift].astype(np.int16) for shift in (-step, 0, step))
            at = at[np.abs(before - 2 * here + after) <= most]
    return at
