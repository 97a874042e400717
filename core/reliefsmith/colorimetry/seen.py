"""What the eye would miss: a piece seen from above, held against the picture that it was made from.

Both lie on one grid of square cells, 0.2 mm unless the piece is very large; reaches are counted in cells, as
a larger piece is looked at from farther away. Two shares come out. *Edges kept*: of pairs of places 0.8 mm
apart whose colors in the picture differ plainly, how many still show two colors. *Paint right*: of the art's
area, how much is seen in its color. Edges alone would call a black ear on a white fox kept, paint alone would
miss thin letters; so both are needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from .difference import ciede2000
from .lost import Lost, lost_edges, lost_paint
from .reference import GREATEST_RATIO, PAIR_CELLS, TOLD_APART, Bools, Ints, Reference
from .spaces import srgb_to_lab
from .window import widened

__all__ = ["Seen", "edges_kept", "seen"]

SHIFT = 1
"""Cells by which an edge, or the rim of a color, may have moved: 0.2 mm, 0.28 mm across."""

BORDER_MM = 1.5
"""Within this the border round the art has to end where it carries the art's color."""


@dataclass(frozen=True, slots=True)
class Seen:
    """How much of the picture the piece shows: two shares, 0 to 1, and the lost places, the largest first."""

    edges_kept: float
    paint_right: float
    lost: tuple[Lost, ...] = ()


def seen(
    wanted: Reference, labels: npt.NDArray[Any], colors: npt.NDArray[np.uint8], *, most_lost: int = 6
) -> Seen:
    """Compare a piece from above with the picture.

    Parameters
    ----------
    wanted : Reference
    labels : integer array of shape (h, w)
        0 is open air, as all beyond the grid is; i shows `colors[i - 1]`.
    colors : uint8 array of shape (k, 3)
        sRGB.
    most_lost : int
        At most so many lost places of either kind are told; 0 is faster where only the shares are asked for.

    Examples
    --------
    >>> from .reference import reference
    >>> picture = np.full((20, 20, 3), 255, np.uint8)
    >>> picture[5:15, 5:15] = (200, 30, 30)
    >>> outside = (picture == 255).all(axis=2)
    >>> piece = np.where(outside, 0, 1)
    >>> result = seen(reference(picture, outside), piece, np.array([[200, 30, 30]], np.uint8))
    >>> result.edges_kept, result.paint_right
    (1.0, 1.0)
    """
    kept = _kept(wanted, labels, colors)
    art = ~wanted.outside
    right = _right(wanted, labels, colors)
    lost: tuple[Lost, ...] = ()
    if most_lost:
        lost = (
            *lost_edges(wanted, ~kept, most_lost),
            *lost_paint(wanted, art & ~right, labels, colors, most_lost),
        )
    return Seen(_share(kept), _share(right[art]), tuple(sorted(lost, key=lambda item: -item.cells)))


def edges_kept(wanted: Reference, labels: npt.NDArray[Any], colors: npt.NDArray[np.uint8]) -> float:
    """Return which share of the picture's edges a piece keeps: what `seen` tells, without the paint."""
    return _share(_kept(wanted, labels, colors))


def _share(flags: Bools) -> float:
    """Return the share that holds; of nothing, nothing is lost."""
    return float(flags.mean()) if flags.size else 1.0


def _kept(wanted: Reference, labels: npt.NDArray[Any], colors: npt.NDArray[np.uint8]) -> Bools:
    """Tell for each pair whether the piece shows two colors there, or the border that stands for one ends."""
    width = labels.shape[1]
    table = np.ones((len(colors) + 1, len(colors) + 1), dtype=bool)
    lab = srgb_to_lab(colors)
    table[1:, 1:] = ciede2000(lab[:, None], lab[None, :]) >= TOLD_APART
    table[0, 0] = False
    row, column = np.divmod(wanted.first, width)
    upright = wanted.second - wanted.first >= width
    kept = np.zeros(len(row), dtype=bool)
    kept[upright] = _steps(table[labels[:-1], labels[1:]], row[upright], column[upright])
    steps = table[labels[:, :-1], labels[:, 1:]].T
    kept[~upright] = _steps(steps, column[~upright], row[~upright])
    outer = wanted.outside.ravel()
    asked = np.flatnonzero(~kept & (outer[wanted.first] != outer[wanted.second]))
    places = np.where(outer[wanted.first[asked]], wanted.first[asked], wanted.second[asked])
    kept[asked] = _near_air(labels == 0, places, BORDER_MM / wanted.cell_mm)
    return kept


def _steps(steps: Bools, along: Ints, across: Ints) -> Bools:
    """Tell whether a step of the piece lies between the two places of a pair, or a cell beside.

    Parameters
    ----------
    steps : bool array of shape (n - 1, m)
        Whether the piece shows two colors between cells i and i + 1 along the pair's axis.
    along, across : int64 arrays
        The pair's first place.
    """
    total = np.zeros((steps.shape[0] + 1, steps.shape[1] + 1), dtype=np.int32)
    np.cumsum(np.cumsum(steps, axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
    low, high = np.maximum(along - SHIFT, 0), np.minimum(along + PAIR_CELLS + SHIFT, steps.shape[0])
    left, right = np.maximum(across - SHIFT, 0), np.minimum(across + SHIFT + 1, steps.shape[1])
    count = total[high, right] - total[low, right] - total[high, left] + total[low, left]
    found: Bools = count > 0
    return found


def _near_air(air: Bools, places: Ints, reach: float) -> Bools:
    """Tell whether open air lies within a circle round each place: row by row, what its chord meets."""
    pad = int(reach)
    total = np.cumsum(np.pad(air, pad, constant_values=True), axis=1, dtype=np.int32)
    total = np.pad(total, ((0, 0), (1, 0)))
    row, column = np.divmod(places, air.shape[1])
    near = np.zeros(len(places), dtype=bool)
    for rise in range(-pad, pad + 1):
        half = int((reach**2 - rise**2) ** 0.5)
        chord = total[row + pad + rise]
        every = np.arange(len(places))
        near |= chord[every, column + pad + half + 1] > chord[every, column + pad - half]
    return near


def _right(wanted: Reference, labels: npt.NDArray[Any], colors: npt.NDArray[np.uint8]) -> Bools:
    """Tell for each cell of the art whether its color is seen there, or a cell beside."""
    right = np.zeros(labels.shape, dtype=bool)
    for number, lab in enumerate(srgb_to_lab(colors), start=1):
        asked = np.flatnonzero(widened(labels == number, 1) & ~wanted.outside & ~right)
        own = wanted.lab.reshape(-1, 3)[asked]
        near = ((own - lab.astype(np.float32)) ** 2).sum(axis=1) <= (TOLD_APART / GREATEST_RATIO) ** 2
        near[~near] = ciede2000(own[~near], lab) <= TOLD_APART
        right.ravel()[asked[near]] = True
    return right
