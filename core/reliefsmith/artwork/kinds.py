"""What kind of picture it is: a few witnesses are measured on the picture's own pixels, and name the kind.

A drawing has few exact colors, and most of its pixels are equal to all their neighbors. Whatever a camera or
a scanner saw has neither: noise makes every pixel a color of its own. That difference is gone in a reduced
picture, so all is measured on pixels as they were stored, in tiles spread over the picture. Only what is no
drawing is looked at as a whole, for paper that encloses ink.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry import level_of, noise_sigma
from ..colorimetry.window import local_range, widened
from ..model.arrays import Flags, Ints, Rgb
from .dither import commonest, counted, dots, packed
from .inkedpaper import shows_paper
from .screen import is_screen

__all__ = ["kind_of"]


_LEAST_PX = 200
"""Longest side below which only noise is no drawing: edges, as compression leaves them, fill the picture."""
_TILES, _TILE_PX = 6, 48
"""Tiles along each side, and their side."""

_COLORS = 8
_EVEN, _EXACT = 0.2, 0.6
"""Share of even pixels that a drawing has at least, or, free of noise, of them and its commonest colors."""
_FEW = 0.9
"""Share of even pixels that have their commonest colors: .98 and more of drawings, small and compressed ones
too; up to .86 of photographs, whose light falls off, however a messenger smoothed them."""
_SMOOTH = 0.95
"""Share of pixels on even slopes from which it is a drawing with gradients: noise leaves none."""
_ROUGH = 0.04
"""Share of a photograph that is far from calm areas, from which it shows a scene."""
_STEPS = (16, 64)
"""Levels within 3 x 3 px of an edge at least, and of one that is a full step."""
_STEP_SHARE = 0.1
"""Share of full steps among edges that something drawn has at least, on paper or with gradients too."""
_INK, _INK_PX, _LEAST_INK = 24, 4, 0.005
"""Levels from the commonest color, pixels from what is nearer to it, and share of pixels, of ink to judge."""
_SMOOTH_INK, _SHARP = 0.2, 0.94
"""Share of such ink on even slopes, and of a change within 9 px that is made within 3: something drawn has
one of them at least, nearly always: of 266 drawings of 200 and 300 px saved at quality 50 to 60 four had less
(ink in many shades or thin strokes, .91 to .94), of 291 things photographed and cut out 264 have."""
_CHANGE = 32
"""Levels of luma within 9 x 9 px from which that share is judged. Compression holds color at half the
size: what changes most of golden letters, blue, is blurred with it, and they looked like a scene."""
_NOISE = 8.0
"""Levels of it that no camera leaves."""

_PALETTE = 600
"""Exact colors that a dithered picture has at most."""
_SCREEN_PX = 1600
"""Longest side at least at which a screen's first line is looked for."""
_WHOLE_PX = 320
"""Longest side at which paper and calm areas are looked for."""
_CALM = 16
"""Levels within 3 x 3 px of a calm area."""


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
    few : float
        Share of even pixels that have one of their eight commonest colors; 1 where there are none.
    ink : float
        Share of pixels on an even slope amid what has not the commonest color; 1 where there are few.
    sharp : float
        Share of luma's change within 9 x 9 px that is made within 3 x 3; 1 where nothing changes.
    steps : float
        Full steps as share of all edges; 0 where there is no edge.
    by_chance : bool
        Whether neighbors tell nothing of each other, as in noise.
    dithered : bool
    """

    common: float
    even: float
    smooth: float
    noise: float
    few: float
    ink: float
    sharp: float
    steps: float
    by_chance: bool
    dithered: bool

    @property
    def strewn(self) -> bool:
        """Whether this is noise alone."""
        return self.by_chance and self.noise >= _NOISE and self.even < _EVEN

    @property
    def exact(self) -> bool:
        """Whether much of it has few exact colors, as only drawings and what a messenger smoothed have."""
        return (self.even >= _EVEN or self.noise == 0.0) and self.even + self.common >= _EXACT

    @property
    def drawn(self) -> bool:
        """Whether this is no photograph, scan or noise."""
        even = self.exact or self.even >= _EVEN
        return self.smooth >= _SMOOTH or (even and self.few >= _FEW)

    @property
    def textured(self) -> bool:
        """Whether what has not the commonest color is all shades, and soft, as nothing drawn is."""
        return self.ink < _SMOOTH_INK and self.sharp < _SHARP


def kind_of(image: Image.Image) -> str:
    """Return the kind of an opaque picture: flat, dithered, screenshot, paper or scene.

    Parameters
    ----------
    image : PIL image
        As it was stored, of mode L or RGB, in any orientation.

    Returns
    -------
    str
        flat is any drawing, with gradients too; paper a photograph of a drawing; scene one of anything else,
        or noise.
    """
    seen = _witnesses(image)
    if seen.dithered or seen.strewn:
        return "dithered" if seen.dithered else "scene"
    tiny = max(image.size) < _LEAST_PX
    if seen.drawn or tiny:
        coarse = image.reduce(max(max(image.size) // _SCREEN_PX, 1))
        if is_screen(np.asarray(coarse.convert("RGB"))):
            return "screenshot"
        return "scene" if seen.textured and not tiny else "flat"
    return _of_photograph(image, seen)


def _of_photograph(image: Image.Image, seen: _Witnesses) -> str:
    """Return the kind of what is no flat drawing."""
    small = np.asarray(image.convert("RGB").reduce(-(-max(image.size) // _WHOLE_PX)))
    calm = local_range([small[..., channel] for channel in range(3)]) <= _CALM
    if shows_paper(small, calm):
        return "paper"
    rough = 1.0 - float(widened(calm, 2).mean())
    if seen.steps < _STEP_SHARE or (rough >= _ROUGH and not seen.exact):
        return "scene"
    return "flat" if seen.noise == 0.0 and seen.sharp >= _SHARP else "paper"


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
    _, counts = counted(colors)
    dithered, by_chance = dots(tiles, colors)
    rows = tiles.reshape(-1, side, 3)  # tiles below each other: their inner pixels see their own tile alone
    ranges = local_range([rows[..., channel] for channel in range(3)]).reshape(tiles.shape[:3])[:, 1:-1, 1:-1]
    smooth = _smooth(tiles)
    ink = (np.abs(tiles[:, 1:-1, 1:-1].astype(np.int16) - commonest(tiles)) > _INK).any(axis=-1)
    inked = smooth[:, _INK_PX:-_INK_PX, _INK_PX:-_INK_PX][_amid(ink)]
    edges, full = (int(np.count_nonzero(ranges >= levels)) for levels in _STEPS)
    is_even = _even(colors)
    return _Witnesses(
        common=_of_commonest(counts),
        even=float(is_even.mean()),
        smooth=float(smooth.mean()),
        noise=noise_sigma(rows[..., 1]),
        few=_of_commonest(counted(colors[:, 1:-1, 1:-1][is_even])[1]) if is_even.any() else 1.0,
        ink=float(inked.mean()) if inked.size >= _LEAST_INK * colors.size else 1.0,
        sharp=_sharp(tiles),
        steps=full / max(edges, 1),
        by_chance=by_chance,
        dithered=dithered and len(counts) <= _PALETTE,
    )


def _of_commonest(counts: Ints) -> float:
    """Return the share of the eight commonest colors."""
    return float(np.sort(counts)[-_COLORS:].sum() / counts.sum())


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


def _sharp(tiles: Rgb) -> float:
    """Return the usual share of luma's change within 9 x 9 px that is made within 3 x 3."""
    if min(tiles.shape[1:3]) < 9:
        return 1.0
    levels = level_of(tiles)
    change = _largest(levels, 9) + _largest(-levels, 9)
    step = _largest(_largest(levels, 3) + _largest(-levels, 3), 7)
    at = change >= _CHANGE
    return float(np.median(step[at] / change[at])) if at.any() else 1.0


def _largest(values: npt.NDArray[np.int16], side: int) -> npt.NDArray[np.int16]:
    """Return the largest value of each window of tiles; `side` - 1 fewer either way."""
    for axis in (1, 2):
        values = np.lib.stride_tricks.sliding_window_view(values, side, axis=axis).max(axis=-1)
    return values
