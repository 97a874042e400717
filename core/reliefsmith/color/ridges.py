"""Lines of lossy pictures: pixels along their middle, and their color put together from luma and chroma.

Chroma is stored at half the resolution and rounded by blocks of 16 pixels, so that a line of 2 px shows a
washed tone everywhere. But what it lost, its surroundings gained: over a window across the line the sums of
luma and of chroma differences from the ground stand in the ratio that the line's own color has.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import from_luma_chroma, luma, luma_chroma
from ..colorimetry.median import median
from ..model.arrays import Labels
from .find import UNLABELED
from .mixing import Flags, Mixing, widened
from .modes import Floats, Ints

__all__ = ["Line", "Ridges", "find_ridges"]

_REACH = 4  # pixels each way: compressed chroma of a line bleeds over most of that
_LEAST_RISE = 25.0  # levels of luma: JPEG rings less where its edges are out of reach
_RISE_PER_SIGMA = 4.0
_LEAST_SLOPE = 8.0  # levels, to one side at least
_FALLEN = 0.5  # of the rise, by which luma returns on both sides within the reach
_MOST = 6000  # ridge pixels looked at, spread over the picture
_KNOWN_COSINE = 0.99  # between directions in luma and chroma from the ground: that of a known color
_SAME_COSINE = 0.985  # of one unknown color
_TIGHT_COSINE, _TIGHT_SHARE = 0.997, 0.7  # of one color most lie so near: crossings and tips spread more
_MOST_TRIES = 100  # ridge pixels tried as the middle of a direction
_MOST_WINDOWS = 600  # that give a color
_SHIFTS = 4
_MOST_DIRECTIONS = 6  # over one ground
_PLATEAU_SHARE = 0.25  # of the rises; so many alike are those of lines wide enough to reach their luma
_PLATEAU_SPAN, _PLATEAU_LEVELS = 0.10, 6.0  # of the rise, or levels, within which they lie
_TOP = 0.93  # of the rises, where there is no plateau: lines that reach their luma in few places
_ROUNDS = 3
_CLIPPED_RISE = 0.7  # weight of a difference of luma in clipped pixels: there is little beside a line
_MOST_BEYOND = 20.0  # levels beyond white and black that a color may come out
_FULL_RISE = 0.6  # of a color's rise, from which on a ridge pixel is taken to show it


@dataclass(frozen=True, slots=True)
class Line:
    """A color (3,) that lines show, the label of their ground, and along how many pixels."""

    color: Floats
    ground: int
    pixels: int


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
    sums : float64 array of shape (n, 3)
        Their differences from the ground in luma and chroma, summed over each window.
    first : int
        The first label that is a color.
    """

    positions: Ints
    grounds: Ints
    rises: Floats
    windows: npt.NDArray[np.uint8]
    sums: Floats
    first: int

    def shown(self, colors: Floats) -> tuple[Ints, Flags]:
        """Return the label of the color that each ridge pixel shows, -1 for none, and which are explained."""
        values, sums = luma_chroma(colors), self.sums
        length = _length(sums)
        best = np.full(len(sums), _KNOWN_COSINE)
        shown = np.full(len(sums), -1, dtype=np.int64)
        rise = np.zeros(len(sums))
        for label in range(self.first, len(colors)):
            toward = values[label] - values[self.grounds]
            across = _length(toward)
            cosine = (sums * toward).sum(axis=1) / (length * across)
            better = (cosine > best) & (label != self.grounds)
            best[better], shown[better], rise[better] = cosine[better], label, toward[better, 0]
        explained = shown >= 0
        full = np.abs(self.rises) >= _FULL_RISE * np.abs(rise)
        return np.where(explained & full, shown, -1), explained

    def lines(self, known: Floats, least: float) -> list[Line]:
        """Return the colors that no known one explains, of so many pixels at least."""
        _, explained = self.shown(known)
        open_ = ~explained & (np.sign(self.sums[:, 0]) == np.sign(self.rises))
        found = []
        for ground in range(self.first, len(known)):
            left = np.flatnonzero(open_ & (self.grounds == ground))
            for _ in range(_MOST_DIRECTIONS):
                if len(left) < least:
                    break
                near, left = _commonest(left, self.sums)
                if len(near) < least:
                    break
                color = self._color(near, known[ground])
                shown = np.clip(color, 0.0, 255.0)
                if np.abs(color - shown).max() < _MOST_BEYOND and _is_tight(self.sums[near]):
                    found.append(Line(shown, ground, len(near)))
        return found

    def _color(self, near: Ints, ground: Floats) -> Floats:
        """Put a line's color (3,) together from the luma of its ridge and the chroma of all round it.

        Beyond white and black values are clipped, and chroma that bled there shows in some channels only. Its
        amount is taken from those, its hue from the pixels that are whole.
        """
        windows = self.windows[near[:: len(near) // _MOST_WINDOWS + 1]].astype(np.float64)
        offset = windows - ground
        clipped = (windows <= 0.0) | (windows >= 255.0)
        some = clipped.any(axis=2)
        whole = luma_chroma(offset[~some]).sum(axis=0)
        total = whole
        seen, beside = ~clipped[some], offset[some]
        for _ in range(_ROUNDS):
            hue = total[1:] / _length(total[1:])
            tint = from_luma_chroma(np.array([0.0, *hue]))
            # Least squares over the channels that are not clipped: offset = rise + amount * tint.
            count = seen.sum(axis=1) + _CLIPPED_RISE
            one, two = (seen * tint).sum(axis=1), (seen * tint * tint).sum(axis=1) + 0.05
            rises, amounts = (seen * beside).sum(axis=1), (seen * beside * tint).sum(axis=1)
            scale = count * two - one * one
            rise = (rises * two - amounts * one) / scale
            amount = (amounts * count - rises * one) / scale
            total = whole + np.array([rise.sum(), *(hue * amount.sum())])
        full = _full_rise(np.abs(self.rises[near])) * np.sign(total[0])
        color = luma_chroma(ground) + full / (total[0] or 1.0) * total
        return from_luma_chroma(color)


def _length(vectors: Floats) -> Floats:
    """Return the length (...) of vectors (..., c), never 0, so that it can be divided by."""
    length: Floats = np.maximum(np.sqrt((vectors * vectors).sum(axis=-1)), 1e-9)
    return length


def find_ridges(mixing: Mixing, seeds: Labels, known: Floats, sigma: float, first: int) -> Ridges:
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
    first : int
        0, or 1 where there is no background.
    """
    width = mixing.shape[1]
    bits = np.zeros(UNLABELED + 1, dtype=np.uint16)
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
    chosen = np.flatnonzero(_on_lines(level, at, rise, width))
    chosen = chosen[:: len(chosen) // _MOST + 1]
    at, ground = at[chosen], ground[chosen]
    across = np.arange(-_REACH, _REACH + 1)
    around = at[:, None] + (across[:, None] * width + across).ravel()
    windows = np.stack([plane.ravel()[around] for plane in mixing.planes[:3]], axis=2)
    mean = windows.mean(axis=1, dtype=np.float32).astype(np.float64)
    sums = luma_chroma(mean - known[ground]) * windows.shape[1]
    return Ridges(at, ground, rise[chosen], windows, sums, first)


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


def _is_tight(sums: Floats) -> bool:
    """Return whether most of the sums lie in nearly one direction."""
    middle = sums.sum(axis=0)
    cosine = sums @ middle / np.sqrt((sums * sums).sum(axis=1) * (middle * middle).sum())
    return bool((cosine > _TIGHT_COSINE).mean() > _TIGHT_SHARE)


def _commonest(of: Ints, sums: Floats) -> tuple[Ints, Ints]:
    """Split the ridge pixels into those of the commonest direction and the others."""
    length = _length(sums[of])
    unit = sums[of] / length[:, None]
    tried = unit[:: len(of) // _MOST_TRIES + 1]
    weight = ((tried @ unit.T > _SAME_COSINE) * length).sum(axis=1)
    middle = tried[int(np.argmax(weight))]
    for _ in range(_SHIFTS):
        mean = sums[of][unit @ middle > _SAME_COSINE].sum(axis=0)
        middle = mean / _length(mean)
    near = unit @ middle > _SAME_COSINE
    return of[near], of[~near]


def _full_rise(rises: Floats) -> float:
    """Return the rise of lines that are wide enough to show their luma: a plateau, or near the top."""
    ordered = np.sort(rises)
    count = max(int(_PLATEAU_SHARE * len(ordered)), 2)
    spans = ordered[count - 1 :] - ordered[: len(ordered) - count + 1]
    start = int(np.argmin(spans))
    middle = float(median(ordered[start : start + count]))
    if spans[start] > max(_PLATEAU_SPAN * middle, _PLATEAU_LEVELS):
        return float(ordered[int(_TOP * (len(ordered) - 1))])
    return middle
