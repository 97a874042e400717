"""What it costs to explain a picture: every price of the room on one page, with its unit and its evidence.

A pixel that near colors leave open costs the square of what is left, in units of noise; a patch has a
price of its own. What is cheaper to leave out than to draw is noise. Lengths and areas count in pixels of the
picture as it came.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma_axes
from ..colorimetry.explain import dot, left_open
from .capture import Capture
from .mixing import Flags
from .modes import Floats

__all__ = ["MOST_PATCH_PX", "PATCH", "Judge"]

MOST_OPEN = 36.0
"""Squares of noise that a pixel costs at most: six times the noise is no noise, however much more it is."""

PATCH = 120.0
"""Squares of noise for each patch: a little over three pixels that nothing explains. On compressed lettering,
hand-drawn lines and chat pictures patches that were drawn had 119 and more, others nearly all under 85."""

MOST_PATCH_PX = 300
"""Pixels up to which a patch is judged; a larger one is what the label says, by sheer number."""

_NOISE, _NOISE_PER_SIGMA = 4.0, 1.5
"""Levels that rounding and resampling leave of what is explained, and times the noise of a photograph."""

_RING = 0.02
"""Of the contrast of near colors, that compression rings: at most .0025 of mean IoU on compressed rows."""

_REACH = 4.0
"""Pixels from which colors spread into an edge pixel, by a blur or half a block of compression. With 12, as
far as blocks of chroma reach, other inks explained letters: compressed lettering lost .003 of mean IoU."""

Waves = npt.NDArray[np.float32]


class Judge:
    """What known colors leave open of pixels of a picture that came in a certain way.

    Parameters
    ----------
    known : float64 array of shape (k, c)
        Colors in the mixing space, at most 16.
    capture : Capture
    """

    def __init__(self, known: Floats, capture: Capture) -> None:
        self.capture = capture
        self._apart = capture.lossy and known.shape[1] == 3
        self._colors = self._in_metric(known.T)
        self.reach = round(_REACH * capture.enlarged)
        self._floor = np.float32(_NOISE + _NOISE_PER_SIGMA * capture.sigma)

    def left_open(self, values: npt.NDArray[np.generic], near: npt.NDArray[np.uint16], calm: Flags) -> Waves:
        """Return what near colors, as bits, leave open (n,) of values (c, n), in squares of noise."""
        noise = np.full(len(near), self._floor)
        if self.capture.lossy:
            noise += np.float32(_RING) * self._contrast(near)
        turned = self._in_metric(values)
        return left_open(turned, near, calm, self._colors, noise=noise, most=MOST_OPEN, apart=self._apart)

    def _contrast(self, near: npt.NDArray[np.uint16]) -> Waves:
        """Return the greatest distance (n,) between two of the near colors, in levels."""
        contrast = np.zeros(len(near), dtype=np.float32)
        for one, other in combinations(range(self._colors.shape[1]), 2):
            gap = self._colors[:, one] - self._colors[:, other]
            pair = np.uint16((1 << one) | (1 << other))
            contrast = np.where((near & pair) == pair, np.maximum(contrast, np.sqrt(dot(gap, gap))), contrast)
        return contrast

    def _in_metric(self, values: npt.NDArray[np.generic]) -> Waves:
        waves: Waves = values.astype(np.float32)
        return np.stack(luma_axes(*waves)) if self._apart else waves
