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
from ..model.arrays import Labels
from .capture import Capture
from .cost import SPREAD_PX
from .find import UNLABELED
from .mixing import Flags, Mixing, near_labels
from .modes import Floats, Ints

__all__ = ["Line", "Ridges", "commonest", "find_ridges"]

_REACH = round(SPREAD_PX)  # pixels each way: compressed chroma of a line bleeds over most of that
_MOST = 6000  # ridge pixels looked at, spread over the picture
_LOOKS = 600  # of these that a direction is tried along, and that give a color
_LEAST_PX = 60  # along a line; drawn ones have 103 and more, crossings and tips of others up to 94
_SAME_COSINE = 0.99  # between directions in luma and chroma from the ground: of one color
_TOP = 0.93  # of the rises, where few lines reach their luma; compressed rays lose .0001 with .9 and with .95
_LEAST_SEEN = 0.045  # of a tint, by squares; with .03 rays lose .001 of mean IoU, with .06 one its color
_FULL = 0.25  # of a color's rise, from which a ridge pixel shows it; an edge that rings showed it with 0
_PLATEAU_SPAN = 0.15  # of its middle; flat from .12; with .2 a ray loses its color, with .25 two navy ones
_PLATEAU_SHARE = 0.25  # of the rises; so many alike are those of lines wide enough to reach their luma


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
        """Return the label of the color that each ridge pixel shows, -1 for none, and which are explained.

        What has a color's direction, but little of its rise, is explained and shows none.
        """
        values, length = luma_chroma(colors), _length(self.sums)
        best = np.full(len(self.sums), _SAME_COSINE)
        shown = np.full(len(self.sums), -1, dtype=np.int64)
        rise = np.zeros(len(self.sums))
        for label in range(self.first, len(colors)):
            toward = values[label] - values[self.grounds]
            cosine = (self.sums * toward).sum(axis=1) / (length * _length(toward))
            better = (cosine > best) & (label != self.grounds)
            best[better], shown[better], rise[better] = cosine[better], label, toward[better, 0]
        full = np.abs(self.rises) >= _FULL * np.abs(rise)
        return np.where(full, shown, -1), shown >= 0

    def lines(self, known: Floats) -> list[Line]:
        """Return the colors that no known one explains, of enough pixels."""
        _, explained = self.shown(known)
        open_ = ~explained & (np.sign(self.sums[:, 0]) == np.sign(self.rises))
        found = []
        for ground in range(self.first, len(known)):
            left = np.flatnonzero(open_ & (self.grounds == ground))
            while len(left) >= _LEAST_PX:
                alike = commonest(self.sums[left], _SAME_COSINE)
                near, left = left[alike], left[~alike]
                if len(near) < _LEAST_PX:
                    break
                color = np.clip(self._color(near, known[ground]), 0.0, 255.0)
                found.append(Line(color, ground, len(near)))
        return found

    def _color(self, near: Ints, ground: Floats) -> Floats:
        """Put a line's color (3,) together from the luma of its ridge and the chroma of all round it.

        Beyond white and black values are clipped, and chroma that bled there shows in some channels only. Its
        amount is taken from those, its hue from the pixels that are whole.
        """
        windows = self.windows[near[:: len(near) // _LOOKS + 1]].astype(np.float64)
        offset = windows - ground
        clipped = (windows <= 0.0) | (windows >= 255.0)
        some = clipped.any(axis=2)
        whole = luma_chroma(offset[~some]).sum(axis=0)
        hue = whole[1:] / _length(whole[1:])
        tint = from_luma_chroma(np.array([0.0, *hue]))
        seen, beside = ~clipped[some], offset[some]
        # Least squares over the channels that are not clipped: offset = rise + amount * tint. As much as half
        # a channel more says that there is no rise, since little of a line's luma lies beside it.
        count, one = seen.sum(axis=1) + 0.5, (seen * tint).sum(axis=1)
        two = (seen * tint * tint).sum(axis=1) + _LEAST_SEEN
        rises, amounts = (seen * beside).sum(axis=1), (seen * beside * tint).sum(axis=1)
        scale = count * two - one * one
        rise, amount = (rises * two - amounts * one) / scale, (amounts * count - rises * one) / scale
        total = whole + np.array([rise.sum(), *(hue * amount.sum())])
        full = _full_rise(np.abs(self.rises[near])) * np.sign(total[0])
        return from_luma_chroma(luma_chroma(ground) + full / (total[0] or 1.0) * total)


def _length(vectors: Floats) -> Floats:
    """Return the length (...) of vectors (..., c), never 0, so that it can be divided by."""
    length: Floats = np.sqrt((vectors * vectors).sum(axis=-1))
    return np.where(length > 0.0, length, 1.0)


def find_ridges(mixing: Mixing, seeds: Labels, known: Floats, capture: Capture, first: int) -> Ridges:
    """Find the ridges of an opaque picture.

    Parameters
    ----------
    mixing : Mixing
    seeds : uint8 array of shape (h, w)
        Labels of calm pixels, 255 elsewhere.
    known : float64 array of shape (k, 3)
        Color of each label, at most 16.
    capture : Capture
    first : int
        0, or 1 where there is no background.
    """
    width = mixing.shape[1]
    near = near_labels(seeds, len(known), _REACH + 1)
    single = (near != 0) & ((near & (near - 1)) == 0) & (seeds == UNLABELED)
    single[: _REACH + 1] = single[-_REACH - 1 :] = False
    single[:, : _REACH + 1] = single[:, -_REACH - 1 :] = False
    at = np.flatnonzero(single)
    ground = np.log2(near.ravel()[at]).astype(np.int64)
    level = luma(*(plane.ravel().astype(np.float32) for plane in mixing.planes[:3]))
    base = luma_chroma(known)[:, 0]
    rise = level[at] - base[ground]
    high = np.abs(rise) > capture.certain
    at, ground, rise = at[high], ground[high], rise[high]
    chosen = np.flatnonzero(_on_lines(level, at, rise, width, 2 * capture.noise))
    chosen = chosen[:: len(chosen) // _MOST + 1]
    at, ground = at[chosen], ground[chosen]
    across = np.arange(-_REACH, _REACH + 1)
    around = at[:, None] + (across[:, None] * width + across).ravel()
    windows = np.stack([plane.ravel()[around] for plane in mixing.planes[:3]], axis=2)
    mean = windows.mean(axis=1, dtype=np.float32).astype(np.float64)
    sums = luma_chroma(mean - known[ground]) * windows.shape[1]
    return Ridges(at, ground, rise[chosen], windows, sums, first)


def _on_lines(level: npt.NDArray[np.float32], at: Ints, rise: Floats, width: int, slope: float) -> Flags:
    """Return which pixels are luma's extreme across a line, with so steep a slope on one side at least.

    Beside an edge it returns on one side only, by half of its rise within the reach.
    """
    ridge = np.zeros(len(at), dtype=bool)
    sign = np.sign(rise)
    for step in (1, width, width + 1, width - 1):
        one, other = (sign * (level[at] - level[at + side]) for side in (-step, step))
        here = np.flatnonzero((one >= 0) & (other >= 0) & (np.maximum(one, other) > slope))
        for side in (-step, step):
            fallen = np.zeros(len(here), dtype=bool)
            for far in range(1, _REACH + 1):
                drop = sign[here] * (level[at[here]] - level[at[here] + far * side])
                fallen |= drop > 0.5 * np.abs(rise[here])
            here = here[fallen]
        ridge[here] = True
    return ridge


def commonest(vectors: Floats, cosine: float) -> Flags:
    """Return which vectors (n, c) lie within a cosine of the direction in which most of their length lies."""
    length = _length(vectors)
    unit = vectors / length[:, None]
    tried, some = unit[:: len(unit) // _LOOKS + 1], slice(None, None, len(unit) // _MOST + 1)
    middle = tried[int(np.argmax((tried @ unit[some].T > cosine) @ length[some]))]
    for _ in range(2):  # it hardly moves after that
        mean = vectors[unit @ middle > cosine].sum(axis=0)
        middle = mean / _length(mean)
    near: Flags = unit @ middle > cosine
    return near


def _full_rise(rises: Floats) -> float:
    """Return the rise of lines that are wide enough to show their luma.

    That is a plateau: the middle of so many as lie nearest together, if they lie near enough. Else few lines
    reach it, and those near the top of all are nearest to it.
    """
    ordered = np.sort(rises)
    count = max(int(_PLATEAU_SHARE * len(ordered)), 2)
    spans = ordered[count - 1 :] - ordered[: len(ordered) - count + 1]
    start = int(np.argmin(spans))
    middle = float(np.median(ordered[start : start + count]))
    if spans[start] <= _PLATEAU_SPAN * middle:
        return middle
    return float(ordered[int(_TOP * (len(ordered) - 1))])
