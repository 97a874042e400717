"""Lines about a pixel wide: where no pixel is mostly theirs, one holds more than those on its two sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry.explain import dot, mixed
from ..colorimetry.window import widened
from ..model.arrays import Labels
from .capture import Capture
from .cost import SPREAD_PX
from .mixing import Flags, Mixing, Waves, in_metric
from .modes import Ints

__all__ = ["with_hairlines"]

_LOUDER_LOSSY = 2.5  # times what is certain, from the color that most of a pixel has: JPEG rings less
_LEAST_WIDTH = 0.5  # pixels that a line covers across
_AROUND = (-1, 0, 1, 2)  # pixels round a corner, of which a line has the fewer
_CORNER_PART = 0.5  # of the least levels, for the pixel at a corner between two of a line


@dataclass(frozen=True, slots=True)
class _Picture:
    """What a share is judged by: planes (c of (h * w,)), and colors (k, c) in the metric from `first` on."""

    planes: list[npt.NDArray[np.uint8]]
    known: Waves
    first: int
    capture: Capture

    @property
    def least(self) -> float:
        """Levels at least from the color that most of a pixel has."""
        return self.capture.certain * (_LOUDER_LOSSY if self.capture.lossy else 1.0)

    def away(self, at: Ints, own: npt.NDArray[np.uint8]) -> Waves:
        """Return how far (c, n) the pixels are from the colors of their labels."""
        values = in_metric(np.stack([plane[at] for plane in self.planes]), lossy=self.capture.lossy)
        offset: Waves = values - self.known.T[:, own]
        return offset


def with_hairlines(
    labels: Labels, edges: Ints, mixing: Mixing, known: Waves, *, first: int, capture: Capture
) -> Labels:
    """Give lines about a pixel wide their color all along.

    A line of 0.6 px covers most of no pixel where it runs between two rows, and slanted ones touch at corners
    only: it would fall into dashes. The fullest pixel of each row across becomes the line's, and of the two
    at a corner between steps the fuller one.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        Of the color that most of each pixel has.
    edges : int64 array of shape (e,)
        Flat positions of pixels that mix colors.
    mixing : Mixing
    known : float32 array of shape (k, c)
        Each label's color in the metric.
    first : int
        Least label.
    capture : Capture

    Returns
    -------
    uint8 array of shape (h, w)
    """
    picture = _Picture([plane.ravel() for plane in mixing.planes], known, first, capture)
    flat, width = labels.ravel(), labels.shape[1]
    at = edges[(edges > 2 * width) & (edges < flat.size - 2 * width - 2)]
    own = np.take(flat, at)
    left, right, above, below = (np.take(flat, at + step) == own for step in (-1, 1, -width, width))
    bare = at[(left & right & (above == below)) | (above & below & (left == right))]
    ends = (
        _ends(flat, at, above & below, (left, right), (1, width)),
        _ends(flat, at, left & right, (above, below), (width, 1)),
    )
    bare = np.concatenate([bare, *ends])
    offset = picture.away(bare, np.take(flat, bare))
    bare = bare[(offset * offset).sum(axis=0) > picture.least**2]
    corners = at[(left != right) & (above != below)]
    bare = _near(bare, at, labels.shape)
    ridges = [_ridges(picture, flat, bare, step) for step in (1, width)]
    drawn = np.concatenate([one[0] for one in ridges])
    if len(drawn):
        flat = _drawn(flat, ridges, width)
        corners = np.concatenate([corners, _near(drawn, at, labels.shape)])
    where, label = _corners(picture, flat, corners, width)
    if len(where):
        flat = flat if len(drawn) else flat.copy()
        flat[where] = label
    return flat.reshape(labels.shape)


def _ends(
    flat: npt.NDArray[np.uint8], at: Ints, lone: Flags, alike: tuple[Flags, Flags], steps: tuple[int, int]
) -> Ints:
    """Return the pixels at which a line ends, a step along, that goes on a row aside at their other end."""
    chosen = np.flatnonzero(lone & (alike[0] != alike[1]))
    here = at[chosen]
    on = here + np.where(alike[0][chosen], -steps[0], steps[0])
    goes = (flat[on - steps[1]] != flat[here]) | (flat[on + steps[1]] != flat[here])
    ends: Ints = here[goes]
    return ends


def _near(some: Ints, at: Ints, shape: tuple[int, ...]) -> Ints:
    """Return those of the pixels that others of their line are near to."""
    bare = np.zeros(shape, dtype=bool)
    bare.ravel()[some] = True
    return at[widened(bare, round(SPREAD_PX)).ravel()[at]]


def _ridges(picture: _Picture, flat: npt.NDArray[np.uint8], at: Ints, step: int) -> tuple[Ints, Ints]:
    """Return the pixels that hold more of a line than the two beside them, a step each way, and its label."""
    at = at[(flat[at - step] == flat[at]) & (flat[at + step] == flat[at])]
    own = flat[at]
    part, label = _shares(picture, picture.away(at, own), own)
    toward = (picture.known[label] - picture.known[own]).T
    length = np.maximum((toward * toward).sum(axis=0), 1.0)

    def share(side: int) -> Waves:
        part: Waves = (picture.away(at + side * step, own) * toward).sum(axis=0) / length
        return part

    before, after = share(-1), share(1)
    ridge = (part > before) & (part >= after) & (part + before + after > _LEAST_WIDTH)
    ridge &= (np.maximum(share(-2), share(2)) < part / 2) & (part * np.sqrt(length) > picture.least)
    return at[ridge], label[ridge]


def _shares(picture: _Picture, offset: Waves, own: npt.NDArray[np.uint8]) -> tuple[Waves, Ints]:
    """Return the share (n,) of the other color that explains each pixel best, and its label."""
    best = np.full(offset.shape[1], np.float32(picture.capture.certain**2))
    part = np.zeros(offset.shape[1], dtype=np.float32)
    label = np.zeros(offset.shape[1], dtype=np.int64)
    for other in range(picture.first, len(picture.known)):
        share, rest = mixed(offset, np.zeros_like(offset), (picture.known[other] - picture.known[own]).T)
        square = dot(rest, rest)
        better = square < best
        best[better], part[better], label[better] = square[better], share[better], other
    return part, label


def _drawn(flat: npt.NDArray[np.uint8], ridges: list[tuple[Ints, Ints]], width: int) -> npt.NDArray[np.uint8]:
    """Draw ridge pixels, but those that an area of their label has on one side and no ridge on the other."""
    every, result = flat.copy(), flat.copy()
    for at, label in ridges:
        every[at] = label
    for (at, label), step, along in zip(ridges, (1, width), (width, 1), strict=True):
        rim = np.zeros(len(at), dtype=bool)
        for sign in (-along, along):
            here, beyond = ([at + way + side for side in (-step, 0, step)] for way in (sign, -sign))
            solid = np.any([flat[one] == label for one in here], axis=0)
            rim |= solid & ~np.any([every[one] == label for one in beyond], axis=0)
        result[at[~rim]] = label[~rim]
    return result


def _corners(
    picture: _Picture, flat: npt.NDArray[np.uint8], at: Ints, width: int
) -> tuple[Ints, npt.NDArray[np.uint8]]:
    """Return the fuller pixels beside corners at which a line hangs together, and its label."""
    found: list[Ints] = []
    for one in (-1, 1):
        for other in (-width, width):
            here = at[flat[at + one + other] == flat[at]]
            here = here[(flat[here + one] != flat[here]) & (flat[here + one] == flat[here + other])]
            if not len(here):
                continue
            label = flat[here + one]
            rows = np.array([[x * one + y * other for x in _AROUND] for y in _AROUND]).ravel()
            around = flat[np.clip(here[:, None] + rows, 0, flat.size - 1)]
            rarer = (around == label[:, None]).sum(axis=1) < (around == flat[here][:, None]).sum(axis=1)
            here, label = here[rarer], label[rarer]
            gap = picture.away(here, label), picture.away(here + one + other, label)
            held = (picture.away(here, flat[here]) ** 2).sum(axis=0)
            fuller = (gap[0] ** 2).sum(axis=0) <= (gap[1] ** 2).sum(axis=0)
            fuller &= held > (_CORNER_PART * picture.least) ** 2
            found.append(np.stack([here[fuller], label[fuller]]))
    every = np.concatenate([np.zeros((2, 0), dtype=np.int64), *found], axis=1)
    return every[0], every[1].astype(np.uint8)
