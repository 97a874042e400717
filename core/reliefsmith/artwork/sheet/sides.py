"""What speaks for a quadrilateral being a sheet: an edge along each side, paper within, none beyond.

Across each side colors are read at many places, and summed up: a mean over any stretch is a difference of two
sums. The side of a sheet is a parabola through steps of color: a lens bends it, and paper curls.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt
from scipy.ndimage import uniform_filter1d

from ...model.arrays import Flags, Floats
from .bows import fitted, outward, powers_of

__all__ = ["Evidence", "evidence", "grain_of"]

Ints = npt.NDArray[np.intp]

_PLACES, _ENDS = 40, 0.05
"""Along a side, and the share of it that is left off at either end."""
_REACH = 10
"""Pixels to either side of a line in which its edge is looked for."""
_IN, _OUT = 23, 31
"""Pixels to either side at which colors are read."""
_STEP = 5.5
_WEIGHTS = np.array([1.0, 1.5, 1.5])
"""Difference that counts as an edge; CIE Lab, with colorfulness weighed more as light is uneven."""
_GRAINY, _LEAST_GRAIN = 1.4, 0.35
"""Upper quartile of steps anywhere in a picture from which an edge must be that clear, and the least share
of it that is asked for on the calmest table."""
_CLEAR_STEP, _OUTWARD = 15.0, 0.02
"""Among edges as clear as that the outermost is taken: drawn lines lie within."""
_ALIKE = 4.0
_LINE = 0.35
"""Colors this much apart are alike; or those beside a line, by the step to the line between them."""
_FARTHER = (8, 16)
"""Pixels beyond an edge from where colors are held against that within: past lines, narrow or wide."""
_AS_BEYOND = 5.0
"""Difference in Lab, light at half weight, within which a color within is one of the table's."""
_PAPER_CHROMA, _PAPER_LIGHT = 8.0, (0.5, 1.25)
"""How far paper in another light may be from its color, and in which light by the usual."""
_DRAWN = 0.5
"""Weight of an edge that is the drawing's, where it reaches the edge of the paper."""


@dataclass(frozen=True)
class Evidence:
    """What was found along the four sides of n quadrilaterals.

    Parameters
    ----------
    bows : float array of shape (n, 4, 3)
        Parabola of each side: offset outward in px by place from -1 to 1, highest power first.
    support : float array of shape (n, 4)
        Share of places with an edge on the parabola.
    paper : float array of shape (n, 4)
        Share of places within that have the paper's color.
    table : float array of shape (n, 4)
        Share of places within that have a color found beyond one of the sides.
    beyond : float array of shape (n, 4)
        Share of places where the color some pixels beyond is again that within: joints, drawn lines.
    lighter : float array of shape (n, 4)
        L* by which it is lighter within.
    chroma : float array of shape (n,)
        C*ab of the paper.
    """

    bows: Floats
    support: Floats
    paper: Floats
    table: Floats
    beyond: Floats
    lighter: Floats
    chroma: Floats

    def only(self, at: int) -> Evidence:
        """Return that of one quadrilateral."""
        return Evidence(*(getattr(self, item.name)[at] for item in fields(self)))


def grain_of(lab: Floats) -> float:
    """Return how clear an edge must be in a picture in Lab (h, w, 3), by what `evidence` asks at most.

    On a calm table a faint edge is one; among weave, planks or checks it says nothing.
    """
    steps = []
    for axis in (0, 1):
        mean = uniform_filter1d(lab, 3, axis=axis)
        one, two = (np.take(mean, np.arange(low, lab.shape[axis] + low - 4), axis) for low in (0, 4))
        steps.append(_difference(one, two).ravel())
    return float(np.clip(np.percentile(np.concatenate(steps), 75) / _GRAINY, _LEAST_GRAIN, 1.0))


def evidence(lab: Floats, quads: Floats, grain: float) -> Evidence:
    """Read the sides of quadrilaterals (n, 4, 2) in a small picture in Lab (h, w, 3), of that grain."""
    across = _Across(lab, quads, grain)
    paper_color = _paper_color(lab, quads)[:, None, None]
    edge = across.edges(paper_color[:, None])
    clear = np.minimum(edge, _CLEAR_STEP) * (1 + _OUTWARD * np.arange(-_REACH, _REACH + 1))
    index = _strongest_near(edge, np.argmax(clear, axis=-1), 2)
    place = np.linspace(-1 + 2 * _ENDS, 1 - 2 * _ENDS, _PLACES)
    bows = fitted(place, (index - _REACH).astype(np.float64), _picked(edge, index) > grain * _STEP)
    at: Ints = np.clip(np.rint(bows @ powers_of(place).T), -_REACH, _REACH).astype(np.intp)
    step = _picked(edge, _strongest_near(edge, at + _REACH, 1))
    band = across.mean(at, -13, -4)
    paper = _is_paper(band, paper_color)
    table = ~paper & _as_beyond(band, across.mean(at, 4, 9), paper_color)
    within = across.mean(at, -6, -3)
    farther = [_difference(within, across.mean(at, first, first + 4)) for first in _FARTHER]
    beyond = np.min(farther, axis=0) < np.maximum(grain * _ALIKE, _LINE * step)
    lighter = across.mean(at, -6, -2)[..., 0] - across.mean(at, 2, 6)[..., 0]
    flags = (step > grain * _STEP, paper, table, beyond)
    on, of_paper, of_table, alike = (item.mean(axis=-1) for item in flags)
    chroma = np.hypot(paper_color[:, 0, 0, 1], paper_color[:, 0, 0, 2])
    return Evidence(bows, on, of_paper, of_table, alike, np.median(lighter, axis=-1), chroma)


class _Across:
    """Colors across the sides of n quadrilaterals."""

    def __init__(self, lab: Floats, quads: Floats, grain: float) -> None:
        self.alike = grain * _ALIKE
        along = np.linspace(_ENDS, 1 - _ENDS, _PLACES)
        steps = np.roll(quads, -1, axis=1) - quads
        on = quads[:, :, None] + along[:, None] * steps[:, :, None]
        places = on[..., None, :] + np.arange(-_IN, _OUT)[:, None] * outward(quads)[:, :, None, None]
        height, width = lab.shape[:2]
        column, row = (np.floor(places[..., axis]).astype(np.intp) for axis in (0, 1))
        self.seen: Flags = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        colors = lab[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)]
        self.sums: Floats = np.concatenate(
            [np.zeros_like(colors[..., :1, :]), np.cumsum(colors, axis=-2)], -2
        )

    def mean(self, at: Ints, first: int, last: int) -> Floats:
        """Return means (n, 4, places, 3) from `first` to `last` px outward of offsets (n, 4, places)."""
        low, high = ((at + shift)[..., None, None] for shift in (first + _IN, last + _IN + 1))
        sums = np.take_along_axis(self.sums, high, axis=-2) - np.take_along_axis(self.sums, low, axis=-2)
        mean: Floats = sums[..., 0, :] / (last - first + 1)
        return mean

    def edges(self, paper: Floats) -> Floats:
        """Return how clear an edge (n, 4, places, offsets) lies at each offset in reach.

        Paper must end there, and not begin again some pixels farther; or the drawing ends, without paper
        beyond.
        """
        middle = np.arange(-_REACH, _REACH + 1) + _IN

        def mean(first: int, last: int) -> Floats:
            sums = self.sums[..., middle + last + 1, :] - self.sums[..., middle + first, :]
            return sums / (last - first + 1)

        inside, outside, far = mean(-3, -1), mean(1, 3), mean(6, 9)
        step = _difference(inside, outside)
        of_paper = np.minimum(step, 2 * np.maximum(_difference(inside, far) - self.alike, 0))
        of_drawing = _DRAWN * step * ~(_is_paper(outside, paper) | _is_paper(far, paper))
        edge = np.where(_is_paper(inside, paper), of_paper, of_drawing)
        return np.where(self.seen[..., middle], edge, 0.0)


def _picked(values: Floats, index: Ints) -> Floats:
    """Return the value at an index along the last axis."""
    picked: Floats = np.take_along_axis(values, index[..., None], axis=-1)[..., 0]
    return picked


def _strongest_near(weight: Floats, index: Ints, reach: int) -> Ints:
    """Return the index of the largest weight along the last axis, no farther than `reach` from an index."""
    near = np.clip(index[..., None] + np.arange(-reach, reach + 1), 0, weight.shape[-1] - 1)
    best = np.argmax(np.take_along_axis(weight, near, axis=-1), axis=-1)
    found: Ints = np.take_along_axis(near, best[..., None], axis=-1)[..., 0]
    return found


def _difference(one: Floats, two: Floats) -> Floats:
    apart: Floats = np.linalg.norm((one - two) * _WEIGHTS, axis=-1)
    return apart


def _paper_color(lab: Floats, quads: Floats) -> Floats:
    """Return the color (n, 3) of most of the lighter half within each quadrilateral."""
    share = np.linspace(0.08, 0.92, 14)
    left, right = (
        quads[:, at, None] + share[:, None] * (quads[:, other] - quads[:, at])[:, None]
        for at, other in ((0, 3), (1, 2))
    )
    places = left[:, :, None] + share[:, None] * (right - left)[:, :, None]
    height, width = lab.shape[:2]
    at = np.floor(places).astype(int)
    colors = lab[np.clip(at[..., 1], 0, height - 1), np.clip(at[..., 0], 0, width - 1)]
    colors = colors.reshape(len(quads), -1, 3)
    order = np.argsort(colors[..., 0], axis=1)[:, colors.shape[1] // 2 :]
    paper: Floats = np.median(np.take_along_axis(colors, order[..., None], axis=1), axis=1)
    return paper


def _is_paper(color: Floats, paper: Floats) -> Flags:
    """Return which colors are those of the paper, in less light or in a little more."""
    light = color[..., 0] / np.maximum(paper[..., 0], 1.0)
    off = np.linalg.norm(color[..., 1:] - paper[..., 1:] * light[..., None], axis=-1)
    alike: Flags = (off < _PAPER_CHROMA) & (light > _PAPER_LIGHT[0]) & (light < _PAPER_LIGHT[1])
    return alike


def _as_beyond(band: Floats, beyond: Floats, paper: Floats) -> Flags:
    """Return which colors within (n, 4, places, 3) are like some beyond that are no paper's."""
    weights = np.array([0.5, 1.0, 1.0])
    within, out = (item.reshape(len(item), -1, 3) * weights for item in (band, beyond))
    other = ~_is_paper(beyond, paper).reshape(len(beyond), -1)
    apart = np.linalg.norm(within[:, :, None] - out[:, None], axis=-1)
    nearest = np.where(other[:, None], apart, np.inf).min(axis=-1)
    alike: Flags = nearest.reshape(band.shape[:-1]) < _AS_BEYOND
    return alike
