"""Rims beside edges, as sharpening leaves them: found by how they fade, and taken out.

Cameras, scanners and apps sharpen: on the dark side of an edge a darker rim arises, on the light side a
lighter one, which fade over a few pixels. Left alone, such rims pass for colors of their own. A drawn outline
does not fade: it is even up to its own edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry import level_of, noise_sigma
from ..colorimetry.window import extreme
from ..findings import Note, note
from ..model.arrays import Flags, Ints, Rgb

__all__ = ["without_rims"]

_ROWS = 64  # so many rows, spread over the picture, are looked at
_LEVEL, _LEVEL_PER_SIGMA = 3.0, 5.0  # steps from pixel to pixel in flat areas, in levels; noise adds to them
_FLAT_PX = 5  # so many such steps in a row are a flat area
_EDGE_PX = 16  # at most between two flat areas, rims included
_LEAST_STEP = 30  # levels between them
_LEAST_EDGES = 40
_LEAST_RIM, _MOST_RIM = 0.08, 0.8  # height of a rim by the edge's: compression rings less, lines are higher
_MOST_HELD = 1.2  # the same for what is held back: two edges near each other add up
_STEEP = 0.5  # of a rim's height, at most, a pixel nearer to the edge; a line goes on there
_FADES, _NEXT_LEAST = 0.9, 0.08  # of the height before, at most, a pixel farther; of the peak, two farther
_RIM_SHARE = 0.16  # of the edges: thin outlines, compressed, had up to 0.14, sharpened drawings from 0.27
_FLAT_RANGE = 5  # levels that the range of a flat pixel's window may exceed the step
_REACH_PX = 10  # from a rim to a flat area of its color
_SLACK = 12  # levels of a rim beyond its share of the step between the flat colors

Levels = npt.NDArray[np.int16]


def without_rims(image: Image.Image) -> tuple[Image.Image, tuple[Note, ...]]:
    """Take the rims of sharpening out of an opaque picture; any other is returned as it is.

    Parameters
    ----------
    image : PIL image
        Mode RGB; others are returned as they are.

    Returns
    -------
    PIL image
    tuple of Note
        Empty where there was nothing to take out.

    Notes
    -----
    Unsharp masking adds the difference from a blurred copy, one or two times (common practice, no source).
    Beside an edge the sum goes beyond the flat color, most at the edge and less with every pixel.
    """
    if image.mode != "RGB" or min(image.size) < 2 * _EDGE_PX:
        return image, ()
    rgb = np.asarray(image)
    luma = level_of(rgb[:: max(len(rgb) // _ROWS, 1)])
    level = _LEVEL + _LEVEL_PER_SIGMA * noise_sigma(luma.astype(np.uint8))
    edges = _edges(luma, level)
    if len(edges.rise) < _LEAST_EDGES:
        return image, ()
    rimmed = _has_rim(luma, edges, at_end=True) | _has_rim(luma, edges, at_end=False)
    if np.count_nonzero(rimmed) < _RIM_SHARE * len(rimmed):
        return image, ()
    words = "the picture was sharpened; the light and dark rims beside its edges were taken out"
    return Image.fromarray(_held(rgb, level + _FLAT_RANGE)), (note("rims-removed", words),)


@dataclass(frozen=True, slots=True)
class _Edges:
    """What lies between two flat areas of a row: row, first pixel, last one and one more, step up or down."""

    row: Ints
    begin: Ints
    end: Ints
    rise: Levels


def _edges(luma: Levels, level: float) -> _Edges:
    """Find the edges along the rows, each between two flat areas of different luma."""
    even = np.abs(np.diff(luma, axis=1)) <= level
    run = even[:, _FLAT_PX - 1 :].copy()
    for shift in range(_FLAT_PX - 1):
        run &= even[:, shift : shift + run.shape[1]]
    open_ = np.ones(luma.shape, dtype=bool)
    for shift in range(_FLAT_PX + 1):
        open_[:, shift : shift + run.shape[1]] &= ~run
    changes = np.diff(open_.astype(np.int8), axis=1, prepend=0, append=0)
    row, begin = np.nonzero(changes == 1)
    end = np.nonzero(changes == -1)[1]
    whole = (begin > 0) & (end < luma.shape[1]) & (end - begin <= _EDGE_PX)
    row, begin, end = row[whole], begin[whole], end[whole]
    rise = luma[row, end] - luma[row, begin - 1]
    strong = np.abs(rise) >= _LEAST_STEP
    return _Edges(row[strong], begin[strong], end[strong], rise[strong])


def _has_rim(luma: Levels, edges: _Edges, *, at_end: bool) -> Flags:
    """Return which edges overshoot at their end, or their begin, and fade from there to the flat area."""
    away = np.arange(_EDGE_PX + 2)
    first, step = (edges.end, -1) if at_end else (edges.begin - 1, 1)
    inside = away <= (edges.end - edges.begin)[:, None]
    at = np.clip(first[:, None] + step * away, 0, luma.shape[1] - 1)
    sign = np.sign(edges.rise) if at_end else -np.sign(edges.rise)
    over = (luma[edges.row[:, None], at] - luma[edges.row, first][:, None]) * sign[:, None]
    over = np.where(inside, over, np.int16(-999))
    every = np.arange(len(over))
    peak = over.argmax(axis=1)
    height, step_height = over[every, peak], np.abs(edges.rise)
    one, two = over[every, np.maximum(peak - 1, 0)], over[every, np.maximum(peak - 2, 0)]
    before = over[every, np.minimum(peak + 1, len(away) - 1)]
    fits = (peak >= 2) & (height >= _LEAST_RIM * step_height) & (height <= _MOST_RIM * step_height)
    fits &= before < _STEEP * height
    fades: Flags = fits & (one < _FADES * height) & (two < _FADES * one) & (two > _NEXT_LEAST * height)
    return fades


def _held(rgb: Rgb, level: float) -> Rgb:
    """Hold pixels beside flat areas within the range of the flat colors near them.

    What exceeds it by more than a rim does, such as a line of another color, stays.
    """
    most, least = extreme(rgb, np.maximum), extreme(rgb, np.minimum)
    flat = (most - least).max(axis=2) <= level
    most, least = rgb.copy(), rgb.copy()
    most[~flat], least[~flat] = 0, 255
    for _ in range(_REACH_PX):
        most, least = extreme(most, np.maximum), extreme(least, np.minimum)
    known = np.asarray((most >= least).all(axis=2))
    span = np.where(known[..., None], most - least, np.uint8(0))
    over = np.maximum(np.maximum(rgb, most) - most, least - np.minimum(rgb, least))
    rim = known & ~flat & (over <= _MOST_HELD * span + _SLACK).all(axis=2)
    held: Rgb = np.where(rim[..., None], np.clip(rgb, np.minimum(least, most), most), rgb)
    return held
