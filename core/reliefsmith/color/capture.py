"""What taking, saving and enlarging left in a picture, measured once, and the limits that follow from it.

A pixel is calm if its neighborhood shows one color, so that it can vote for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import level_of, noise_sigma
from ..model.artwork import Artwork
from .mixing import Bytes, Flags, Mixing
from .modes import Bins

__all__ = [
    "LEAST_RANGE",
    "LEAST_SHARE",
    "NOISE",
    "OPEN",
    "Capture",
    "Picture",
    "calm_pixels",
    "captured",
    "is_rippled",
    "softening",
]

NOISE, _NOISE_PER_SIGMA = 4.0, 1.5
"""Levels that rounding and resampling leave of what is explained, and times the noise of a photograph. Half
and twice the levels lose five counts of 79; the times are flat within a factor of 2."""

OPEN = 6
"""Times the noise that is no noise, however much more it is. With 3 two counts of 79 are lost, with 12 4."""

LEAST_SHARE = 0.002
"""Of a picture: what takes up less is no ground that was picked, nor shading that is worth evening."""

LEAST_RANGE = 9  # levels: JPEG ripple in flat areas stays below; with 4 a color is lost, with 18 rays' .24
_LEAST_SOFTENING = 2.5  # on open art what was not enlarged has 1, compressed up to 2.4; three times, from 2.7


@dataclass(frozen=True, slots=True)
class Capture:
    """How a picture came.

    Parameters
    ----------
    sigma : float
        Noise in levels, 0 for a clean drawing.
    lossy : bool
        Whether the picture shows the traces of lossy compression or noise, whatever it is saved as now.
    saved_lossy : bool
        Whether the file was saved so: color is held at half the size then.
    scale : float
        Working pixels per source pixel.
    """

    sigma: float
    lossy: bool
    saved_lossy: bool
    scale: float

    @property
    def noise(self) -> float:
        """Levels that may be left of what is explained: the unit in which all levels of the room are told."""
        return NOISE + _NOISE_PER_SIGMA * self.sigma

    @property
    def certain(self) -> float:
        """Levels from which a difference is no noise, and counts no more however large it is."""
        return OPEN * self.noise

    @property
    def alike(self) -> float:
        """Levels within which one color may show: half of what is certain."""
        return self.certain / 2

    @property
    def shaded(self) -> float:
        """Levels of standard deviation from which an area is no flat color: more than noise spreads it by."""
        return self.noise - NOISE / 2

    @property
    def enlarged(self) -> float:
        """Working pixels over which one that was read spreads, in length."""
        return max(self.scale, 1.0)

    @property
    def photographed(self) -> bool:
        """Whether it has a camera's noise: then its light was divided out before."""
        return self.sigma > 0.0

    @property
    def calm_range(self) -> float:
        """Levels between neighbors up to which a pixel is calm.

        Each step of a ripple is as many times smaller as it was enlarged; the limit follows by the square
        root, or small areas had no calm pixels left.
        """
        return LEAST_RANGE * self.noise / NOISE / (self.enlarged**0.5 if self.saved_lossy else 1.0)

    @property
    def bled(self) -> float:
        """Pixels over which an edge of color is spread at most, per pixel of one as sharp as drawn."""
        return self.scale * 2 if self.saved_lossy else self.scale


@dataclass(frozen=True, slots=True)
class Picture:
    """What evening starts from: planes, calm pixels, the bin of each pixel, and how the picture came."""

    mixing: Mixing
    calm: Flags
    keys: npt.NDArray[np.int32]
    bins: Bins
    capture: Capture


def captured(artwork: Artwork, mixing: Mixing, ranges: Bytes) -> Capture:
    """Measure how a picture came; `ranges` is what `local_range` gives of its planes."""
    sigma = sorted(noise_sigma(plane) for plane in mixing.planes[:3])[1]  # the middle one of the channels
    # Enlarging ripples too, by less than a source pixel.
    rippled = not artwork.has_alpha and artwork.scale <= 1.0 and is_rippled(ranges)
    return Capture(sigma, artwork.lossy or rippled, artwork.lossy, artwork.scale)


def calm_pixels(mixing: Mixing, ranges: Bytes, capture: Capture) -> Flags:
    """Return which pixels (h, w) differ little from their eight neighbors in every channel.

    Pixels on an anti-aliased edge are never calm, also not along a straight one.
    """
    calm: Flags = ranges <= capture.calm_range
    if mixing.opaque is not None:
        calm &= mixing.opaque
    return calm


def is_rippled(ranges: Bytes) -> bool:
    """Return whether flat areas ripple beside edges, as lossy compression and noise leave them.

    A clean drawing has edges and flat pixels and little in between: on open art up to a fifth of the edge
    pixels, JPEG of quality 60 had .6 to 2.3 times as many.
    """
    edges = np.count_nonzero(ranges > LEAST_RANGE)
    ripple = np.count_nonzero(ranges) - edges
    return bool(ripple > 0.5 * edges)


def softening(mixing: Mixing) -> float:
    """Return over how many pixels each one that was drawn spreads, as in an enlarged picture; 1 if sharp.

    An edge that was drawn bends twice as sharply as it rises over two pixels, one that was enlarged rises
    evenly over its pixels. Judged by luma, since compression softens chroma.
    """
    level = level_of(np.stack(mixing.planes[:3], axis=-1))
    before, here, after = level[:, :-2], level[:, 1:-1], level[:, 2:]
    step = np.abs(after - before)
    edge = step > 2 * OPEN * NOISE  # only edges have that, no shadow
    if not edge.any():
        return 1.0
    bend = np.abs(before - 2 * here + after)[edge]
    spread = float(np.median(step[edge])) / max(float(np.median(bend)), 1.0) / 2
    return spread if spread >= _LEAST_SOFTENING else 1.0
