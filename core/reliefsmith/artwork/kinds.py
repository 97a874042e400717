"""What kind of picture it is: a few witnesses are measured on the picture's own pixels, and name the kind.

A drawing has few exact colors, and most of its pixels are equal to all their neighbors. Whatever a camera or
a scanner saw has neither: noise makes every pixel a color of its own. That difference is gone in a reduced
picture, so all is measured on pixels as they were stored, in tiles spread over the picture. Only what is no
drawing is looked at as a whole, for paper that encloses ink.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image

from ..colorimetry import noise_sigma, srgb_to_lab
from ..colorimetry.window import extreme
from ..model.arrays import Rgb
from ..polygons.runs import find_pieces
from .dither import REACH, alternating, packed
from .screen import is_screen

__all__ = ["kind_of"]

Flags: TypeAlias = npt.NDArray[np.bool_]
Floats: TypeAlias = npt.NDArray[np.float64]

_LEAST_PX = 200
"""Longest side below which only noise is no drawing: edges, as compression leaves them, fill the picture."""
_TILES, _TILE_PX = 6, 48
"""Tiles along each side, and their side."""

_COLORS = 8
_EVEN, _EXACT = 0.2, 0.6
"""Even pixels that a drawing has at least as share of all, unless it is free of noise, and even pixels and
commonest colors added. Where they are fewer it has gradients all over, or is no drawing."""
_SMOOTH = 0.95
"""Share of pixels on even slopes from which it is a drawing with gradients: noise leaves none."""
_ROUGH = 0.04
"""Share of a photograph that is far from calm areas, from which it shows a scene."""
_STEPS = (16, 64)
"""Levels within 3 x 3 px of an edge at least, and of one that is a full step."""
_STEP_SHARE = 0.1
"""Share of full steps among edges that something drawn has at least, on paper or with gradients too."""
_INK, _INK_PX, _LEAST_INK = 24, 8, 0.005
"""Levels from the commonest color, pixels from what is nearer to it or a full step, and share of pixels, of
ink to judge."""
_SMOOTH_INK = 0.2
"""Share of such ink on even slopes that something drawn has at least: 43 % and more of drawings, small ones
too, but for one of 240 px with 22 %; up to 20 % of things photographed and cut out, 33 % of smooth ones."""
_NOISE = 8.0
"""Levels of it that no camera leaves."""

_DOTTED, _DOTS = 0.02, 0.3
"""Share of a dithered picture where that share of a window alternates."""
_PALETTE = 600
"""Exact colors that a dithered picture has at most."""
_EVENLY = 0.2
"""Lower quartile of the variance of means of 4 x 4 px in windows of dots, by what dots strewn at random have:
theirs is .4, and windows that an edge crosses have more."""

_SCREEN_PX = 1600
"""Longest side at least at which a screen's first line is looked for."""
_WHOLE_PX = 320
"""Longest side at which paper and calm areas are looked for."""
_CALM = 16
"""Levels within 3 x 3 px of a calm area."""
_PAPER_CHROMA, _PAPER_LIGHT = 28.0, (40.0, 0.55)
"""Paper's C*ab at most, and L* at least: as such, and by the picture's light places."""
_SHEET, _DRAWN_ON = 0.08, 0.02
"""Shares of a sheet of the picture, and of ink that it encloses of the sheet, at least."""
_CONVEX = 0.9
"""Share of its convex hull that a sheet with its ink fills."""


@dataclass(frozen=True, slots=True)
class _Witnesses:
    """What the tiles of a picture say; shares of their pixels.

    Parameters
    ----------
    common : float
        Share of the eight commonest exact colors.
    even : float
        Share of pixels equal to their eight neighbors.
    smooth : float
        Share of pixels on an even slope, within one level.
    noise : float
        Standard deviation in levels.
    ink : float
        Share of pixels on an even slope amid what has not the commonest color, off full steps, which
        compression surrounds with waves; 1 where there are few.
    steps : float
        Full steps as share of all edges; 1 where there is no edge.
    by_chance : bool
        Whether neighbors tell nothing of each other, as in noise.
    dithered : bool
    """

    common: float
    even: float
    smooth: float
    noise: float
    ink: float
    steps: float
    by_chance: bool
    dithered: bool

    @property
    def strewn(self) -> bool:
        """Whether this is noise alone."""
        return self.by_chance and self.noise >= _NOISE and self.even < _EVEN

    @property
    def drawn(self) -> bool:
        """Whether this is no photograph, scan or noise."""
        calm = self.even >= _EVEN or self.noise == 0.0
        return self.smooth >= _SMOOTH or (calm and self.even + self.common >= _EXACT)


def kind_of(image: Image.Image) -> str:
    """Return the kind of an opaque picture: flat, dithered, screenshot, paper or scene.

    Parameters
    ----------
    image : PIL image
        As it was stored, of mode L or RGB, in any orientation.

    Returns
    -------
    str
        flat is any drawing, and whatever cannot be told; paper a photograph of a drawing on paper; scene a
        photograph of anything else, or noise.
    """
    seen = _witnesses(image)
    if seen.dithered or seen.strewn:
        return "dithered" if seen.dithered else "scene"
    if seen.drawn or max(image.size) < _LEAST_PX:
        coarse = image.reduce(max(max(image.size) // _SCREEN_PX, 1))
        if is_screen(np.asarray(coarse.convert("RGB"))):
            return "screenshot"
        if seen.ink >= _SMOOTH_INK or max(image.size) < _LEAST_PX:
            return "flat"
    small = np.asarray(image.convert("RGB").reduce(-(-max(image.size) // _WHOLE_PX)))
    calm = _ranges(small) <= _CALM
    if not seen.drawn and _shows_paper(small, calm):
        return "paper"
    rough = 1.0 - float(_widened(_widened(calm)).mean())
    return "scene" if rough >= _ROUGH or seen.steps < _STEP_SHARE else "flat"


def _witnesses(image: Image.Image) -> _Witnesses:
    """Measure tiles spread evenly over a picture, from border to border."""
    side = min(_TILE_PX, *image.size)
    lefts, tops = (
        np.rint(np.linspace(0, length - side, min(_TILES, -(-length // side)))).astype(int).tolist()
        for length in image.size
    )
    tiles = np.stack(
        [
            np.asarray(image.crop((left, top, left + side, top + side)).convert("RGB"))
            for top in tops
            for left in lefts
        ]
    )
    colors = packed(tiles)
    values, counts = _counts(colors)
    dithered, by_chance = _dots(tiles, colors)
    rows = tiles.reshape(-1, side, 3)  # tiles below each other: their inner pixels see their own tile alone
    ranges = _ranges(rows).reshape(tiles.shape[:3])[:, 1:-1, 1:-1]
    smooth = _smooth(tiles)
    ink = _unlike(tiles, int(values[np.argmax(counts)]))[:, 1:-1, 1:-1] & (ranges < _STEPS[1])
    inked = smooth[:, _INK_PX:-_INK_PX, _INK_PX:-_INK_PX][_amid(ink)]
    edges = np.count_nonzero(ranges >= _STEPS[0])
    return _Witnesses(
        common=float(np.sort(counts)[-_COLORS:].sum() / colors.size),
        even=float(_even(colors).mean()),
        smooth=float(smooth.mean()),
        noise=noise_sigma(rows[..., 1]),
        ink=float(inked.mean()) if inked.size >= _LEAST_INK * colors.size else 1.0,
        steps=np.count_nonzero(ranges >= _STEPS[1]) / edges if edges else 1.0,
        by_chance=by_chance,
        dithered=dithered and len(counts) <= _PALETTE,
    )


def _counts(colors: npt.NDArray[np.int32]) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int64]]:
    """Return each exact color and how often it occurs."""
    ranked = np.sort(colors.ravel())
    starts = np.flatnonzero(np.append(True, ranked[1:] != ranked[:-1]))
    return ranked[starts], np.diff(starts, append=len(ranked))


def _unlike(tiles: Rgb, common: int) -> Flags:
    """Return which pixels are far from a color as `packed` gives it."""
    color = np.array([common >> shift & 255 for shift in (16, 8, 0)], dtype=np.int16)
    unlike: Flags = (np.abs(tiles.astype(np.int16) - color) > _INK).any(axis=-1)
    return unlike


def _amid(ink: Flags) -> Flags:
    """Return which pixels of tiles, a rim left out, lie amid ink."""
    amid = ink
    rim = 2 * _INK_PX
    if min(ink.shape[1:]) <= rim:  # a tiny picture: nothing lies so deep
        return np.zeros((len(ink), *(max(side - rim, 0) for side in ink.shape[1:])), dtype=bool)
    for axis in (1, 2):
        windows = np.lib.stride_tricks.sliding_window_view(amid, rim + 1, axis=axis)
        amid = np.logical_and.reduce(windows, axis=-1)
    return amid


def _even(colors: npt.NDArray[np.int32]) -> Flags:
    """Return which inner pixels of tiles (n, s, s) equal their eight neighbors."""
    across = (colors[..., :-2] == colors[..., 1:-1]) & (colors[..., 1:-1] == colors[..., 2:])
    down = (colors[:, :-2] == colors[:, 1:-1]) & (colors[:, 1:-1] == colors[:, 2:])
    even: Flags = across[:, :-2] & across[:, 1:-1] & across[:, 2:] & down[..., 1:-1]
    return even


def _smooth(tiles: Rgb) -> Flags:
    """Return which inner pixels of tiles lie within one level of the mean of both neighbors, either way."""
    values = tiles.astype(np.int16)
    inner = values[:, 1:-1, 1:-1]
    across = np.abs(values[:, 1:-1, :-2] - 2 * inner + values[:, 1:-1, 2:])
    down = np.abs(values[:, :-2, 1:-1] - 2 * inner + values[:, 2:, 1:-1])
    smooth: Flags = (np.maximum(across, down) <= 1).all(axis=-1)
    return smooth


def _dots(tiles: Rgb, colors: npt.NDArray[np.int32]) -> tuple[bool, bool]:
    """Return whether colors alternate evenly in part of the tiles, and whether all is strewn by chance."""
    block = 2 * REACH + 2
    whole = colors.shape[1] // block * block
    dots = _blocks(alternating(colors)[:, :whole, :whole].astype(np.float64), block)
    levels = tiles[:, :whole, :whole].sum(axis=-1, dtype=np.float64)
    within = _blocks(levels, block)
    by_chance = within.var(axis=-1) * 3.0 / (block * block - 1)  # of four means of a quarter each
    ratio = _blocks(_blocks(levels, block // 2).mean(axis=-1), 2).var(axis=-1) / np.maximum(by_chance, 1e-9)
    square = within.reshape(*within.shape[:-1], block, block)
    striped = (np.ptp(square, axis=-1) == 0).all(axis=-1) | (np.ptp(square, axis=-2) == 0).all(axis=-1)
    dotted = (dots.mean(axis=-1) >= _DOTS) & ~striped
    dithered = dotted.mean() >= _DOTTED and np.percentile(ratio[dotted], 25) <= _EVENLY
    return bool(dithered), bool(np.percentile(ratio, 25) > _EVENLY)


def _blocks(values: Floats, side: int) -> Floats:
    """Return square blocks of tiles (n, s, s) as rows of values, (n, s / side, s / side, side * side)."""
    tiles, rows, columns = values.shape[0], values.shape[1] // side, values.shape[2] // side
    cut = values.reshape(tiles, rows, side, columns, side).transpose(0, 1, 3, 2, 4)
    return cut.reshape(tiles, rows, columns, side * side)


def _ranges(rgb: Rgb) -> npt.NDArray[np.uint8]:
    """Return the largest difference (h, w) within 3 x 3 px, over all channels."""
    ranges: npt.NDArray[np.uint8] = (extreme(rgb, np.maximum) - extreme(rgb, np.minimum)).max(axis=2)
    return ranges


def _widened(flags: Flags) -> Flags:
    return extreme(flags.view(np.uint8), np.maximum).view(np.bool_)


def _shows_paper(rgb: Rgb, calm: Flags) -> bool:
    """Return whether a calm, light, grey area with straight outer sides encloses ink."""
    lab = srgb_to_lab(rgb.reshape(-1, 3)).reshape(rgb.shape)
    least = max(_PAPER_LIGHT[0], _PAPER_LIGHT[1] * float(np.percentile(lab[..., 0], 95)))
    paper = calm & (np.hypot(lab[..., 1], lab[..., 2]) < _PAPER_CHROMA) & (lab[..., 0] > least)
    pieces = find_pieces(paper.view(np.uint8))
    large = np.flatnonzero((pieces.labels == 1) & (pieces.areas >= _SHEET * paper.size))
    areas = pieces.pixels_of(large) if len(large) else []
    return any(_is_sheet(pixels, paper.shape) for pixels in areas)


def _is_sheet(pixels: npt.NDArray[np.int64], shape: tuple[int, ...]) -> bool:
    """Return whether an area, given by its flat positions, is convex but for the ink that it encloses."""
    rest = np.ones(shape, dtype=np.uint8)
    rest.ravel()[pixels] = 0
    holes = find_pieces(rest)
    ink = int(holes.areas[(holes.labels == 1) & ~holes.at_border].sum())
    row, column = np.divmod(pixels, shape[1])
    hull = shapely.MultiPoint(np.column_stack([column, row])).convex_hull.buffer(0.5).area
    return bool(ink >= _DRAWN_ON * hull and len(pixels) + ink >= _CONVEX * hull)
