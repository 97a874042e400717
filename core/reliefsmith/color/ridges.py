"""Ridges of lossy pictures: pixels along the middle of lines that one color lies round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma, luma_chroma
from ..model.arrays import Labels
from .find import UNLABELED
from .mixing import Mixing, widened
from .modes import Floats, Ints

__all__ = ["Ridges", "find_ridges"]

_REACH = 4  # pixels each way: compressed chroma of a line bleeds over most of that
_LEAST_RISE = 25.0  # levels of luma: JPEG rings less where its edges are out of reach
_RISE_PER_SIGMA = 4.0
_LEAST_SLOPE = 8.0  # levels, to one side at least
_FALLEN = 0.5  # of the rise, by which luma returns on both sides within the reach
_MOST = 6000  # ridge pixels looked at, spread over the picture


@dataclass(frozen=True, slots=True)
class Ridges:
    """Pixels whose luma differs most, across a line, from the one color that shows undiluted round them.

    Parameters
    ----------
    positions : int64 array of shape (n,)
        In the flattened picture.
    grounds : int64 array of shape (n,)
        Label of the color round them.
    rises : float64 array of shape (n,)
        Their luma minus that color's, in levels.
    windows : uint8 array of shape (n, 81, 3)
        The stored values of 9 x 9 pixels, each ridge pixel amid its own.
    """

    positions: Ints
    grounds: Ints
    rises: Floats
    windows: npt.NDArray[np.uint8]

    def only(self, chosen: npt.NDArray[np.bool_] | Ints) -> Ridges:
        """Return some of the ridge pixels."""
        return Ridges(self.positions[chosen], self.grounds[chosen], self.rises[chosen], self.windows[chosen])


def find_ridges(mixing: Mixing, seeds: Labels, known: Floats, sigma: float) -> Ridges:
    """Find the ridges of an opaque picture.

    Parameters
    ----------
    mixing : Mixing
    seeds : uint8 array of shape (h, w)
        Labels of calm pixels, 255 elsewhere.
    known : float64 array of shape (k, 3)
        Color of each label, at most 16.
    sigma : float
        Noise in levels.
    """
    width = mixing.shape[1]
    bits = np.zeros(256, dtype=np.uint16)
    bits[: len(known)] = 1 << np.arange(len(known))
    near = widened(bits[seeds], _REACH + 1)
    single = (near != 0) & ((near & (near - 1)) == 0) & (seeds == UNLABELED)
    single[: _REACH + 1] = single[-_REACH - 1 :] = False
    single[:, : _REACH + 1] = single[:, -_REACH - 1 :] = False
    at = np.flatnonzero(single)
    ground = np.log2(near.ravel()[at]).astype(np.int64)
    level = luma(*(plane.ravel().astype(np.float32) for plane in mixing.planes[:3]))
    base = luma_chroma(known)[:, 0]
    rise = level[at] - base[ground]
    high = np.abs(rise) > _LEAST_RISE + _RISE_PER_SIGMA * sigma
    at, ground, rise = at[high], ground[high], rise[high]
    ridge = _on_lines(level, at, rise, width)
    chosen = np.flatnonzero(ridge)
    chosen = chosen[:: len(chosen) // _MOST + 1]
    at = at[chosen]
    across = np.arange(-_REACH, _REACH + 1)
    around = at[:, None] + (across[:, None] * width + across).ravel()
    windows = np.stack([plane.ravel()[around] for plane in mixing.planes[:3]], axis=2)
    return Ridges(at, ground[chosen], rise[chosen], windows)


def _on_lines(level: npt.NDArray[np.float32], at: Ints, rise: Floats, width: int) -> npt.NDArray[np.bool_]:
    """Return which pixels are luma's extreme across a line; beside an edge it returns on one side only."""
    ridge = np.zeros(len(at), dtype=bool)
    sign = np.sign(rise)
    for step in (1, width, width + 1, width - 1):
        one, other = (sign * (level[at] - level[at + side]) for side in (-step, step))
        here = np.flatnonzero((one >= 0) & (other >= 0) & (np.maximum(one, other) > _LEAST_SLOPE))
        for side in (-step, step):
            fallen = np.zeros(len(here), dtype=bool)
            for far in range(1, _REACH + 1):
                drop = sign[here] * (level[at[here]] - level[at[here] + far * side])
                fallen |= drop > _FALLEN * np.abs(rise[here])
            here = here[fallen]
        ridge[here] = True
    return ridge
