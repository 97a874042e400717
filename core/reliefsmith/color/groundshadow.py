"""Shadows on the background: found by their slopes, told from greys of the art."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..polygons.runs import find_pieces
from .background import LIKE_BACKGROUND, SEEN_APART
from .mixing import BINS, Bytes, Flags
from .modes import Bins, Floats, Ints
from .soft import Picture, shades

__all__ = ["mark_shadow", "may_have_shadow"]

_TONE_NEIGHBORHOOD = 14.0  # levels about a tone
_TONE_WIDTH, _TONE_WIDTH_LOSSY = 2.5, 6.5  # levels about it that a flat color takes
_FLAT_SHARE = 0.93  # of its neighborhood that a flat color takes; tones of shadows take 0.5 to 0.9
_SHADOW_SHARE = 0.0005  # of the picture, at least, in shadow
_SAMPLED = 8  # every so many rows are looked at for steep slopes
_STEEP = 7  # levels over two pixels
_DARKER = 0.97  # of the background: what compression leaves is lighter
_BETWEEN_SHARE = 0.08  # of a shadow that has a quarter to three quarters of its depth
_SOFT_ART_SHARE = 0.1  # of the shadow's pixels that other art must have, else the art itself is soft
_BEND, _BEND_LOSSY = 4, 6  # levels of second difference in a shadow's slope; edges of anti-aliasing bend more
_MOST_SLOPE = 16  # levels from a pixel to the next in it
_EVEN, _EVEN_LOSSY = 1, 4  # levels that an even grey may vary
_SOLID_SHARE = 0.025  # of the longest side: the side of a square of one grey that no shadow shows
_FADING = 0.4  # of the depth, that a shadow's tone changes at most within ...
_RIM_PX = 3  # from an even area to where its edge is looked at
_FADING_SHARE = 0.52  # of its rim: so much without an edge, and it is no area of its own
_POCKET_SHARE = 0.95  # of a pocket that is a shade of the background
_POCKET_RANGE, _POCKET_RANGE_LOSSY = 5, 10  # levels between its darkest and its lightest place, at least
_LEAST_POCKET_PX = 6
_LEAST_PX = 16  # of background that a shadow passes into


def may_have_shadow(picture: Picture, background: Floats) -> bool:
    """Return whether pixels show darker tones of the background that spread, or steep smooth slopes of it.

    A grey of the art stands alone; a shadow passes through all tones. A photograph has none left: its light
    was divided out, and its lens blurs the edges of greys.
    """
    if picture.capture.photographed:
        return False
    least = _SHADOW_SHARE * picture.calm.size
    steep = _smooth_shade(picture, background, _SAMPLED)
    if np.count_nonzero(_goes_on(picture, steep)) >= least / _SAMPLED:
        return True
    bins = picture.bins
    dark = shades(bins.means, background) & (bins.means.sum(axis=1) < _DARKER * background.sum())
    means, counts = bins.means[dark], bins.counts[dark]
    width = _TONE_WIDTH_LOSSY if picture.capture.lossy else _TONE_WIDTH
    while counts.sum() >= least:  # over tones that lie apart
        gap = np.abs(means - means[np.argmax(counts)]).max(axis=1)
        near = gap <= _TONE_NEIGHBORHOOD
        total = counts[near].sum()
        if total >= least and counts[gap <= width].sum() < _FLAT_SHARE * total:
            return True
        means, counts = means[~near], counts[~near]
    return False


def _goes_on(picture: Picture, pixels: Ints) -> Flags:
    """Return at which pixels a steep slope goes on for two pixels each way, as none of an edge does."""
    plane, width = picture.mixing.planes[1].ravel().astype(np.int16), picture.calm.shape[1]
    goes_on = np.zeros(len(pixels), dtype=bool)
    for step in (1, width):
        near, far = (np.abs(plane[pixels + reach * step] - plane[pixels - reach * step]) for reach in (1, 2))
        goes_on |= (near >= _STEEP) & (2 * far >= 3 * near)
    return goes_on


def mark_shadow(picture: Picture, kinds: Bytes, background: Floats) -> bool:
    """Set shadow and background that pass into each other to 2 in the kinds; tell whether there is shadow.

    Kinds are 1 for calm pixels and 0 for others. A shadow's slope may be too steep to be calm, but it does
    not bend as an edge does.
    """
    bins = picture.bins
    shade = _of_bins(bins, shades(bins.means, background))
    apart = ciede2000(bins.labs, srgb_to_lab(background))
    ground = _of_bins(bins, apart < LIKE_BACKGROUND)
    seen = shade & ~_of_bins(bins, apart < SEEN_APART)
    linked = kinds.copy()
    linked.ravel()[_smooth_shade(picture, background)] = 1
    solid = _solid(picture, seen[picture.keys] & picture.calm, linked > 0, int(background.sum()))
    linked.ravel()[solid] = 0
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
    deepest = int(_tone(picture).ravel()[soft].min())
    closed = kinds.copy()
    closed.ravel()[solid] = 0
    kinds.ravel()[_pockets(picture, closed, (shade | ground)[picture.keys], deepest)] = 2
    return True


def _falling_softly(picture: Picture, soft: Ints, background: Floats) -> tuple[Ints, int]:
    """Leave out dark regions without tones between the background's and their own, as a grey of the art is.

    Also tells how many dark pixels are left.
    """
    depth = np.maximum(int(background.sum()) - _tone(picture).ravel(), 0)
    dark = soft[depth[soft] > (1.0 - _DARKER) * background.sum()]
    marks = np.zeros(picture.calm.shape, dtype=np.uint8)
    marks.ravel()[dark] = 1
    pieces = find_pieces(marks)
    region = np.repeat(pieces.of_run, pieces.lengths)[dark]
    deepest = np.zeros(len(pieces.areas), dtype=np.int16)
    np.maximum.at(deepest, region, depth[dark])
    part = depth[dark] / np.maximum(deepest[region], 1)
    between = np.bincount(region[(part > 0.25) & (part < 0.75)], minlength=len(pieces.areas))
    hard = (pieces.labels == 1) & (between < _BETWEEN_SHARE * pieces.areas)
    marks.ravel()[pieces.pixels(hard)] = 2
    return soft[marks.ravel()[soft] != 2], int(pieces.areas[(pieces.labels == 1) & ~hard].sum())


def _solid(picture: Picture, shade: Flags, smooth: Flags, full: int) -> Ints:
    """Return the flat positions of even areas too wide for a shadow: greys of the art itself.

    Where a shadow beside it is as dark as the grey, nothing else tells them apart.
    """
    tone = _tone(picture)
    most = 3 * (_EVEN_LOSSY if picture.capture.lossy else _EVEN)
    side = max(round(_SOLID_SHARE * max(shade.shape)), 4)
    row, column = np.nonzero(_squares(shade, side))
    middle = tone[row + side // 2, column + side // 2]
    even = np.ones(len(middle), dtype=bool)
    for down, right in ((0, 0), (0, side - 1), (side - 1, 0), (side - 1, side - 1)):
        even &= np.abs(tone[row + down, column + right] - middle) <= most
    row, column, middle = row[even] + side // 2, column[even] + side // 2, middle[even]
    small = max(side // 4, 3)
    solid = np.zeros(shade.shape, dtype=bool)
    while len(middle):  # over greys of the art
        own = int(np.bincount(middle).argmax())
        like = shade & (np.abs(tone - own) <= most)
        fading = smooth & (np.abs(tone - own) < _FADING * (full - own))
        # A shadow passes through the same grey beside it, but in a strip.
        core = find_pieces(_spread(_squares(like, small), small, like.shape).astype(np.uint8))
        inner = np.zeros(shade.shape, dtype=bool)
        inner[row, column] = True
        wide = np.flatnonzero((core.labels == 1) & (core.sums(inner) > 0))
        for pixels in core.pixels_of(wide)[: len(wide)]:  # over areas
            _add_sharp(solid, pixels, like, fading, small)
        left = np.abs(middle - own) > most
        row, column, middle = row[left], column[left], middle[left]
    return np.flatnonzero(solid)


def _add_sharp(solid: Flags, pixels: Ints, like: Flags, fading: Flags, small: int) -> None:
    """Add an even area, with what is like it close by, unless most of it fades into what lies round it."""
    height, width = like.shape
    row, column = np.divmod(pixels, width)
    frame = small + _RIM_PX
    rows = slice(max(int(row.min()) - frame, 0), int(row.max()) + frame + 1)
    columns = slice(max(int(column.min()) - frame, 0), int(column.max()) + frame + 1)
    area = np.zeros((height, width), dtype=bool)[rows, columns]
    area[row - rows.start, column - columns.start] = True
    area = like[rows, columns] & _grown(area, small)
    rim = _grown(area, _RIM_PX) & ~_grown(area, _RIM_PX - 1)
    if np.count_nonzero(rim & fading[rows, columns]) < _FADING_SHARE * np.count_nonzero(rim):
        solid[rows, columns] |= area


def _grown(flags: Flags, reach: int) -> Flags:
    """Return what lies within a square's reach of the flags."""
    return _spread(_spread(flags, reach + 1, flags.shape), reach + 1, flags.shape, back=True)


def _tone(picture: Picture) -> npt.NDArray[np.int16]:
    tone = picture.mixing.planes[0].astype(np.int16)
    for plane in picture.mixing.planes[1:3]:
        tone += plane
    return tone


def _squares(flags: Flags, side: int) -> Flags:
    """Return where squares of that side are full, by their upper left pixel; the result is smaller."""
    covered = 1
    while covered < side:  # doubled each time
        more = min(covered, side - covered)
        flags = flags[:-more] & flags[more:]
        flags = flags[:, :-more] & flags[:, more:]
        covered += more
    return flags


def _spread(flags: Flags, side: int, shape: tuple[int, int], *, back: bool = False) -> Flags:
    """Put a square of that side on every flag, by its upper left pixel, or `back` by its lower right one."""
    wide = np.zeros(shape, dtype=bool)
    wide[: flags.shape[0], : flags.shape[1]] = flags
    covered = 1
    while covered < side:  # doubled each time
        more = min(covered, side - covered)
        for axis in (0, 1):
            low, high = (slice(None, -more), slice(more, None))
            to, of = (low, high) if back else (high, low)
            line = np.moveaxis(wide, axis, 0)
            line[to] |= line[of].copy()
        covered += more
    return wide


def _pockets(picture: Picture, kinds: Bytes, shade: Flags, deepest: int) -> Ints:
    """Return the flat positions of small places in shadow that the art closes in: they are not even."""
    enclosed = find_pieces((kinds == 1).astype(np.uint8))
    count = len(enclosed.areas)
    whole = enclosed.sums(shade) >= _POCKET_SHARE * enclosed.areas
    candidate = (enclosed.labels == 1) & whole & (enclosed.areas >= _LEAST_POCKET_PX)
    pixels = enclosed.pixels(candidate)
    piece = np.repeat(enclosed.of_run, enclosed.lengths)[pixels]
    tone = _tone(picture).ravel()[pixels]
    low, high = np.full(count, 9999, dtype=np.int16), np.zeros(count, dtype=np.int16)
    np.minimum.at(low, piece, tone)
    np.maximum.at(high, piece, tone)
    least = 3 * (_POCKET_RANGE_LOSSY if picture.capture.lossy else _POCKET_RANGE)
    return enclosed.pixels(candidate & (high - low >= least) & (low >= deepest))


def _of_bins(bins: Bins, chosen: Flags) -> Flags:
    table = np.zeros(BINS, dtype=bool)
    table[bins.keys] = chosen
    return table


def _smooth_shade(picture: Picture, background: Floats, every: int = 1) -> Ints:
    """Return the flat positions of pixels that are not calm, but lie on a smooth slope of the background.

    Only every n-th row is looked at.
    """
    height, width = picture.calm.shape
    inner = np.zeros((height, width), dtype=bool)
    inner[2:-2:every, 2:-2] = ~picture.calm[2:-2:every, 2:-2]
    at = np.flatnonzero(inner)
    planes = [plane.ravel() for plane in picture.mixing.planes[:3]]
    at = at[shades(np.stack([plane[at] for plane in planes], axis=1).astype(np.float64), background)]
    most = (_BEND_LOSSY if picture.capture.lossy else _BEND) / max(picture.capture.scale, 1.0) ** 2
    for plane in planes:
        for step in (1, width):
            before, here, after = (plane[at + shift].astype(np.int16) for shift in (-step, 0, step))
            smooth = np.abs(before - 2 * here + after) <= most
            at = at[smooth & (np.abs(after - before) <= 2 * _MOST_SLOPE)]
    return at
