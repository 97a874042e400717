"""Fringe of a color that was made transparent: edge pixels that mix it with the paint, set free of it.

Where an app makes one exact color transparent, the pixels along smoothed edges stay, for they mix that color
with the paint. Each lies on the line between the two, so its place on the line is how much of it the paint
covers: it becomes that paint with that opacity, as in a clean cut-out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry.window import extreme
from ..findings import Note, note
from ..model.arrays import Flags, Ints, Rgb
from .decode import has_transparency
from .dither import commonest

__all__ = ["without_fringe"]

_REACH_PX = 4  # from the cut to a pixel of pure paint
_LEAST_EDGE_PX = 40
_MIXED = 0.25  # share of the removed color from which a pixel is counted as fringe
_ALL = 0.97  # share from which it is that color itself: a border in it, which no exact cut leaves
_FRINGE_SHARE = 0.08  # of the first two pixels; made fringes had .14 to .49, clean cuts .00 to .01
_MOST_BORDER = 0.5  # pixels of that color itself, by pixels of fringe
_LEAST_SPREAD = 0.1  # standard deviation of the shares: smoothing leaves all, an outline one
_LEAST_LENGTH = 40.0  # levels between paint and the removed color
_OFF_LINE = 14.0  # levels from the line
_OFF_LINE_FREED = 28.0  # the same once a fringe is known: compression moves edge pixels farther
_FAINTEST = 8  # least opacity that a freed pixel gets

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class _Band:
    """Pixels of the cut edge, nearest first: flat positions, depth from 1, color, and colors farther in."""

    at: Ints
    depth: Ints
    color: Floats
    deeper: Floats


def without_fringe(image: Image.Image) -> tuple[Image.Image, tuple[Note, ...]]:
    """Free the edge of a hard cut-out of the color that was made transparent.

    Parameters
    ----------
    image : PIL image
        Loaded, of any mode.

    Returns
    -------
    PIL image
        The same one where its alpha has values between, is all one, or no fringe is found; else mode RGBA.
    tuple of Note
    """
    if not has_transparency(image) or image.mode.startswith("I"):
        return image, ()
    rgba = image.convert("RGBA")
    alpha = np.asarray(rgba.getchannel("A"))
    opaque = alpha == 255
    if opaque.all() or not opaque.any() or ((alpha > 0) & ~opaque).any():
        return image, ()
    pixels = np.array(rgba)
    band = _band(pixels[..., :3], opaque)
    if np.count_nonzero(band.depth == 1) < _LEAST_EDGE_PX:
        return image, ()
    found = [(_fringe(band, color), color) for color in _candidates(pixels, opaque, band)]
    share, removed = max(found, key=lambda one: one[0])
    if share < _FRINGE_SHARE:
        return image, ()
    mixed, paint = _mixed(band, removed, _OFF_LINE_FREED)
    free = (mixed >= 0.02) & (mixed < _ALL)
    flat = pixels.reshape(-1, 4)
    flat[band.at[free], :3] = paint[free].astype(np.uint8)
    flat[band.at[free], 3] = np.maximum(np.round(255 * (1 - mixed[free])), _FAINTEST).astype(np.uint8)
    words = "edges held rests of the color that was made transparent; they were given back to the paint"
    return Image.fromarray(pixels), (note("fringe-removed", words),)


def _band(rgb: Rgb, opaque: Flags) -> _Band:
    """Collect the first pixels along the cut, each with the colors on its way inward."""
    height, width = opaque.shape
    depth = np.zeros((height + 2, width + 2), dtype=np.uint8)
    inner = depth[1:-1, 1:-1]
    left = np.where(opaque, np.uint8(255), np.uint8(0))
    for _ in range(_REACH_PX + 1):
        inner += left > 0
        left = extreme(left, np.minimum)
    padded = depth.ravel()
    edge = np.flatnonzero((padded > 0) & (padded <= 2))
    steps = np.array([1, -1, width + 2, -width - 2, width + 3, width + 1, -width - 1, -width - 3])
    row, column = np.divmod(edge, width + 2)
    colors = rgb.reshape(-1, 3)
    at, here, deeper = (row - 1) * width + column - 1, edge, []
    for _ in range(_REACH_PX):
        ahead = here[:, None] + steps
        best = padded[ahead].argmax(axis=1)
        onward = ahead[np.arange(len(ahead)), best]
        here = np.where(padded[onward] > padded[here], onward, here)
        row, column = np.divmod(here, width + 2)
        deeper.append(colors[(row - 1) * width + column - 1].astype(np.float32))
    stacked = np.stack(deeper, axis=1)
    return _Band(at, padded[edge].astype(np.int64), colors[at].astype(np.float32), stacked)


def _candidates(pixels: npt.NDArray[np.uint8], opaque: Flags, band: _Band) -> list[Floats]:
    """Return the colors that may have been removed: white, black, what clear pixels hold, a crossing."""
    found = [np.full(3, 255, np.float32), np.zeros(3, np.float32)]
    found.append(commonest(pixels[~opaque][:, :3]).astype(np.float32))
    crossing = _crossing(band)
    return [*found, crossing] if crossing is not None else found


def _crossing(band: _Band) -> Floats | None:
    """Return the point nearest to all lines from paint through edge pixels; None where they are parallel."""
    first = band.depth == 1
    paint = band.deeper[first, -1].astype(np.float64)
    way = band.color[first] - paint
    length = np.sqrt((way * way).sum(axis=1))
    far = length > _LEAST_LENGTH
    if np.count_nonzero(far) < _LEAST_EDGE_PX:
        return None
    way, paint = way[far] / length[far, None], paint[far]
    across = np.eye(3) - way[:, :, None] * way[:, None, :]
    matrix = across.mean(axis=0)
    if np.linalg.eigvalsh(matrix)[0] < 0.02:
        return None
    right = (across @ paint[:, :, None])[..., 0].mean(axis=0)
    return np.clip(np.linalg.solve(matrix, right), 0.0, 255.0).astype(np.float32)


def _mixed(band: _Band, removed: Floats, off_line: float) -> tuple[Floats, Floats]:
    """Return how much of the removed color each pixel holds, and the paint beside it.

    The paint is the color farther in that is farthest from the removed one with the pixel on the line
    between; a pixel on no such line holds nothing.
    """
    best = np.zeros(len(band.at), dtype=np.float32)
    paint = band.color.copy()
    for number in range(band.deeper.shape[1]):
        deep = band.deeper[:, number]
        line = removed - deep
        length = np.sqrt((line * line).sum(axis=1))
        unit = line / np.maximum(length, 1.0)[:, None]
        offset = band.color - deep
        along = (offset * unit).sum(axis=1)
        rest = offset - along[:, None] * unit
        share = along / np.maximum(length, 1.0)
        fits = (length >= _LEAST_LENGTH) & ((rest * rest).sum(axis=1) <= off_line**2) & (share <= 1.0)
        fits &= share > best + 0.02
        best[fits], paint[fits] = share[fits], deep[fits]
    return best, paint


def _fringe(band: _Band, removed: Floats) -> float:
    """Return the share of the edge that mixes paint with a color; 0 where that is a border or an outline."""
    mixed, _ = _mixed(band, removed, _OFF_LINE)
    fringe = (mixed >= _MIXED) & (mixed < _ALL)
    offset = band.color - removed
    border = np.count_nonzero((offset * offset).sum(axis=1) <= _OFF_LINE**2)
    if not fringe.any() or border > _MOST_BORDER * np.count_nonzero(fringe):
        return 0.0
    if float(mixed[fringe].std()) < _LEAST_SPREAD:
        return 0.0
    return float(np.count_nonzero(fringe) / len(fringe))
