"""What it costs to explain a picture: every price of the room on one page, with its unit and its evidence.

A pixel that near colors leave open costs the square of what is left, in units of noise; a patch has a
price of its own. What is cheaper to leave out than to draw is noise. Lengths and areas count in pixels of the
picture as it came.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..colorimetry.explain import dot, from_triangle, left_open, tint_left_open
from .capture import NOISE, OPEN, Capture
from .mixing import CHANNELS, ROUNDED, Flags, Waves, in_metric
from .modes import Floats

__all__ = [
    "BLEED",
    "BOUNDARY",
    "CLOSER_KIN",
    "KIN",
    "MOST_OPEN",
    "MOST_PATCH_PX",
    "NOISE_ALONE",
    "PATCH",
    "SPREAD_PX",
    "Judge",
    "by_nearness",
    "color_price",
    "hidden_price",
    "spread",
]

MOST_OPEN = float(OPEN**2)
"""Squares of noise that a pixel costs at most."""

BOUNDARY = 2.0
"""Squares of noise for each side of a calm pixel at which another color begins: a small area of a compressed
picture falls into tints, of which not each is a color. Without it a brown digit became two. With 4 none of
182 pictures changes, with 1 one."""

NOISE_ALONE = 2.0
"""Squares of noise that noise alone leaves open of a pixel: without it a grey paper's tint wins by area.
Half and twice as much change none of 79 pictures."""

_PURE_PX, _MIXED_PX = 1.5, 12.0
"""Pixels that nothing explains, from which on a color is one. Pure: a dot of three, rounded by its edge, has
two; flat up to 24 on 105 clean pictures. Of calm pixels of a compressed picture, and of edges: washed tones
have up to 13 where the art is so large that 14 are asked for, drawn colors 17 and more (220 pictures)."""

_CLEAN_EDGES = 4.0
"""Times that, for a color of a clean picture that shows at edges only: paint over paint, and what an app
sharpened or blew up, gained up to 3.4 times the price without, colors of lines 144 times and more."""

_COLOR_SHARE = 0.000035
"""Share of the art in such pixels, if that is more: a rest of shading had 18 where 27 are asked for. Of lines
drawn colors gained 1.04 times the price and more, others .14 and less once the drawn ones were known; without
the share a third color of compressed lettering came of 85 pixels."""

KIN = 3.7
CLOSER_KIN = (KIN / 2**0.5, KIN / 2)
"""CIEDE2000 under which two modes are one color, and closer ones for more colors that were asked for. With
twice as much a picture of blocks lost a color, with half compressed rays .0005 of mean IoU."""

_NEAR = 14.0
"""CIEDE2000 to a color of a lossy picture under which others must gain more: 1 + nearness^3 / 14 times.
On compressed open art colors that were drawn gained 1.07 times what is asked and more, nearly all twice;
rests of shading .7 and less. With the square in place of the cube no scale parted them; half and twice the
scale lose a color each (79 pictures)."""

PATCH = 120.0
"""Squares of noise for each patch: a little over three pixels that nothing explains. On compressed lettering,
hand-drawn lines and chat pictures patches that were drawn had 119 and more, others nearly all under 85."""

MOST_PATCH_PX = 300
"""Pixels up to which a patch is judged; a larger one is what the label says, by sheer number. Flat within
a factor of 2 (79 pictures)."""

_RING = 0.02
"""Of the contrast of near colors, that compression rings; without, crossing lines made a third color.
Flat within a factor of 2 (79 pictures)."""

SPREAD_PX = 4.0
"""Pixels from which colors spread into an edge pixel, by a blur or half a block of compression. With 12, as
far as blocks of chroma reach, other inks explained letters: compressed lettering lost .003 of mean IoU. With
8 a chat's picture lost a color, with 2 crossing rays .07."""

BLEED = 3
"""Times that reach, from which chroma bleeds into a tint: blocks of 16 px; with 1, a tint became a color.
Flat from 2 to 6 (79 pictures)."""


def spread(capture: Capture) -> int:
    """Return the working pixels from which colors spread into an edge pixel."""
    return round(SPREAD_PX * capture.enlarged)


def color_price(art_px: float, capture: Capture, *, pure: bool) -> float:
    """Return the squares of noise that a color must gain, for an art of so many pixels.

    Its pixels are pure, or what edges and compression made of a color.
    """
    least = _PURE_PX if pure else _MIXED_PX
    return MOST_OPEN * max(least, _COLOR_SHARE * art_px / capture.enlarged**2)


def hidden_price(art_px: float, capture: Capture) -> float:
    """Return the same for a color that is never calm."""
    return color_price(art_px, capture, pure=False) * (1.0 if capture.lossy else _CLEAN_EDGES)


def by_nearness(gains: npt.ArrayLike, gaps: npt.ArrayLike) -> Floats:
    """Return what gains in a lossy picture count, by the CIEDE2000 to the nearest color chosen before."""
    nearness = np.maximum(_NEAR - np.asarray(gaps), 0.0)
    return np.asarray(gains) / (1.0 + nearness**3 / _NEAR)


class Judge:
    """What known colors leave open of pixels of a picture that came in a certain way.

    Parameters
    ----------
    known : float64 array of shape (k, c)
        Colors in the mixing space, at most 16.
    capture : Capture
    """

    def __init__(self, known: Floats, capture: Capture, *, calm: bool = False) -> None:
        self.capture = capture
        self._lossy = capture.lossy and known.shape[1] == CHANNELS
        self._known = known.T.astype(np.float32)
        self._colors = in_metric(self._known, lossy=self._lossy)
        # With all the noise, two areas drawn 4.4 or 4.9 levels apart became one color.
        calmer = NOISE - ROUNDED if calm and not capture.lossy else 0.0
        self._floor = np.float32(capture.noise - calmer)

    def left_open(self, values: npt.NDArray[np.generic], near: npt.NDArray[np.uint16], calm: Flags) -> Waves:
        """Return what near colors, as bits, leave open (n,) of values (c, n), in squares of noise."""
        noise = self._noise(near)
        turned = in_metric(values, lossy=self._lossy)
        return left_open(turned, near, calm, self._colors, noise=noise, most=MOST_OPEN, apart=self._lossy)

    def left_open_by_any(self, values: Waves, inner: Flags) -> Waves:
        """Return what all colors together leave open (n,) of values (c, n), in squares of noise.

        Values of a clean picture may mix three where these meet. Those of a lossy one may be tints, but not
        `inner` ones (n,), farther from an edge than it bleeds.
        """
        every = np.full(len(inner), (1 << self._colors.shape[1]) - 1, dtype=np.uint16)
        noise, mixes = self._noise(every), np.zeros_like(inner)
        turned = in_metric(values, lossy=self._lossy)
        left = left_open(turned, every, mixes, self._colors, noise=noise, most=MOST_OPEN, apart=False)
        if self._lossy:
            return np.where(inner, left, self.left_open_beside(values, every, every))
        for three in combinations(self._colors.T.astype(np.float64), 3):
            away = from_triangle(values.astype(np.float64), *(one[:, None] for one in three))
            left = np.minimum(left, (away / self._floor).astype(np.float32) ** 2)
        return left

    def left_open_beside(
        self, values: npt.NDArray[np.generic], near: npt.NDArray[np.uint16], far: npt.NDArray[np.uint16]
    ) -> Waves:
        """Return what mixes of near colors and, in a lossy picture, tints of far ones leave open (n,)."""
        left = self.left_open(values, near, np.zeros(len(near), dtype=bool))
        if not self._lossy:
            return left
        noise, turned = np.full(len(far), self._floor), in_metric(values, lossy=self._lossy)
        return np.minimum(left, tint_left_open(turned, far, self._colors, noise=noise, most=MOST_OPEN))

    def _noise(self, near: npt.NDArray[np.uint16]) -> Waves:
        noise = np.full(len(near), self._floor)
        if self.capture.lossy:
            noise += np.float32(_RING) * self._contrast(near)
        return noise

    def apart(self, values: npt.NDArray[np.generic]) -> Waves:
        """Return how far (n,) stored values (c, n) are from the nearest known color, in squares of noise."""
        offset = values.astype(np.float32)[:, :, None] - self._known[:, None]
        square: Waves = dot(offset, offset).min(axis=1, initial=np.inf) / self._floor**2
        return np.minimum(square, np.float32(MOST_OPEN))

    def _contrast(self, near: npt.NDArray[np.uint16]) -> Waves:
        """Return the greatest distance (n,) between two of the near colors, in levels."""
        contrast = np.zeros(len(near), dtype=np.float32)
        for one, other in combinations(range(self._colors.shape[1]), 2):
            gap = self._colors[:, one] - self._colors[:, other]
            pair = np.uint16((1 << one) | (1 << other))
            contrast = np.where((near & pair) == pair, np.maximum(contrast, np.sqrt(dot(gap, gap))), contrast)
        return contrast
