"""The corner marks of a sheet in a photograph: dark squares in light rings in dark rings.

The light ring is looked for, since it stays whole where a stroke or a shadow touches the mark from outside.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
from PIL import Image
from skimage.filters import threshold_local
from skimage.measure import label, regionprops

from ...formats.classlayout import MARK_MM, MARKS, RINGS_MM
from ...model.arrays import Bytes, Floats
from ..framing import homography
from ..sheet.shapes import areas_of

__all__ = ["corner_marks", "small"]


_WINDOWS = (10, 24)
"""Of the longest side, over which the light is averaged to tell dark from light."""
_DARK = 0.8
"""Share of that average below which a place is dark."""
_LEAST_PX, _MOST_SHARE = 40, 0.05
"""Pixels within a ring, and share of the picture."""
_FILLED = (1.04, 1.5)
"""Of a light ring with its square, by the ring alone: 144 by 128 mm2 as printed, before any blur."""
_SOLID = 0.9
"""Least share that a light ring with its square has of its hull."""
_OFF_CENTER = 0.15
"""Of a ring's side, between its middle and that of its square."""
_MOST_MARKS = 14
"""Of all that look like marks, so many of the squarest are tried."""
_MOST_OF_THREE = 8
"""Of these, so many are tried where one mark of a sheet may be hidden."""
_ALIKE = 12.0
"""Most ratio of the areas of two marks of one sheet: it lies at a slant."""
_ALMOST = 1.6
"""Most ratio of a mark's area as seen and as it must be by the four middles."""


def small(grey: Bytes, longest_px: int) -> tuple[Bytes, float]:
    """Return a grey picture of at most so many px a side, and how many px of the first make one of it."""
    image = Image.fromarray(grey)
    scale = max(max(image.size) / longest_px, 1.0)
    if scale == 1.0:
        return grey, 1.0
    size = (max(round(image.size[0] / scale), 1), max(round(image.size[1] / scale), 1))
    return np.asarray(image.resize(size, Image.Resampling.BOX)), scale


def corner_marks(grey: Bytes) -> tuple[Iterator[Floats], Iterator[Floats]]:
    """Find the middles (4, 2) of marks that may be those of a sheet, clockwise from its upper left one.

    Parameters
    ----------
    grey : uint8 array of shape (h, w)
        In px; (0, 0) is the upper left corner of the upper left pixel.

    Returns
    -------
    iterators of arrays
        Of four marks that are seen, and of three with the place where the fourth, hidden one must be.
    """
    found = _rings(grey)
    return _fours(found), _threes(found)


def _fours(found: Floats) -> Iterator[Floats]:
    for four in combinations(found, 4):
        yield from _turned(np.array(four))


def _threes(found: Floats) -> Iterator[Floats]:
    for three in combinations(found[:_MOST_OF_THREE], 3):
        for middle in range(3):
            yield from _turned(_completed(np.roll(np.array(three), middle, axis=0)))


def _turned(four: Floats) -> Iterator[Floats]:
    """Give four marks (4, 3) in each order, clockwise, in which they look like those of a sheet."""
    if four[:, 2].min() <= 0 or four[:, 2].max() > _ALIKE * four[:, 2].min():
        return
    around = four[np.argsort(np.arctan2(*(four[:, 1::-1] - four[:, 1::-1].mean(axis=0)).T))]
    for turn in range(4):
        turned = np.roll(around, turn, axis=0)
        if _fits(turned):
            yield turned[:, :2]


def _completed(three: Floats) -> Floats:
    """Return three marks (3, 3) and the fourth one, across from the middle one of the three.

    Seen by a camera the area of a small square goes with the third power of its nearness, and places over
    nearness go on evenly: so areas give how near each mark is, and three of these the place of the fourth.
    """
    far = three[:, 2] ** (-1 / 3)
    even = np.append(three[:, :2], np.ones((3, 1)), axis=1) * far[:, None]
    fourth = even[0] + even[2] - even[1]
    if fourth[2] <= 0:
        return np.append(three, np.zeros((1, 3)), axis=0)
    return np.append(three, [[*(fourth[:2] / fourth[2]), fourth[2] ** -3]], axis=0)


def _rings(grey: Bytes) -> Floats:
    """Return the middle and the area of each light ring about a dark square, (n, 3), the squarest first."""
    rows: list[tuple[float, float, float, float]] = []
    for window in _WINDOWS:
        side = max(grey.shape) // window | 1
        light = grey > _DARK * threshold_local(grey.astype(np.float32), side, method="mean")
        for one in regionprops(label(light, connectivity=1)):
            if one.area < _LEAST_PX or one.area_bbox > _MOST_SHARE * grey.size:
                continue
            filled = one.area_filled
            if not _FILLED[0] * one.area <= filled <= _FILLED[1] * one.area or one.solidity is None:
                continue
            if filled < _SOLID * one.area_convex:
                continue
            hole = one.image_filled & ~one.image
            whole, square = (np.argwhere(part).mean(axis=0) for part in (one.image_filled, hole))
            off = float(np.hypot(*(whole - square))) / filled**0.5
            if off > _OFF_CENTER:
                continue
            y, x = whole + one.bbox[:2] + 0.5
            rows.append((float(x), float(y), float(filled), off + 1.0 - filled / one.area_convex))
    rows.sort(key=lambda row: row[3])
    kept: list[tuple[float, float, float]] = []
    for x, y, area, _ in rows:
        if all((x - u) ** 2 + (y - v) ** 2 > area / 4 for u, v, _ in kept):
            kept.append((x, y, area))
    return np.array(kept[:_MOST_MARKS]).reshape(-1, 3)


def _fits(four: Floats) -> bool:
    """Return whether marks at these places look as large as they must be if they are those of a sheet."""
    steps = np.roll(four[:, :2], -1, axis=0) - four[:, :2]
    after = np.roll(steps, -1, axis=0)
    if (steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0] <= 0).any():
        return False
    half = MARK_MM / 2
    middles = np.array(MARKS) + half
    matrix = homography(middles, four[:, :2])
    inner = half - RINGS_MM[1]
    ring = np.array([[-inner, -inner], [inner, -inner], [inner, inner], [-inner, inner]])
    for middle, (_, _, area) in zip(middles, four, strict=True):
        corners = np.append(middle + ring, np.ones((4, 1)), axis=1) @ matrix.T
        if (corners[:, 2] <= 0).any():
            return False
        due = abs(float(areas_of(corners[:, :2] / corners[:, 2:])))
        if not 1 / _ALMOST < area / max(due, 1e-9) < _ALMOST:
            return False
    return True
