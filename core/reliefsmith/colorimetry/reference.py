"""The picture on a grid of square cells, ready to be held against pieces: colors, ground, edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .difference import ciede2000
from .spaces import srgb_to_lab

__all__ = ["CELL_MM", "GREATEST_RATIO", "PAIR_CELLS", "TOLD_APART", "Reference", "reference"]

CELL_MM = 0.2
"""Side of a cell; half of a common nozzle."""

PAIR_CELLS = 4
"""Cells between the two places of a pair: 0.8 mm."""

PLAIN = 20.0
"""CIEDE2000 from which two colors of the picture are an edge that the eye would miss."""

TOLD_APART = 10.0
"""CIEDE2000 at which two colors are told apart at a glance; nearer ones count as one."""

GREATEST_RATIO = 2.06
"""CIEDE2000 is never more than this times the plain distance in CIELAB: a* is stretched by at most 1.5, no
weight is under 1, and the rotation adds at most sqrt(1 + sin 60 degrees) = 1.366."""

_SHARPENED = (1, 2)
"""Cells over which mixtures at an edge are given to one of its sides, one after the other."""

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Reference:
    """The picture on the grid, with all that does not depend on a piece; made by `reference`.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        Mixtures at edges, here and below, already given to one of their sides.
    lab : float32 array of shape (h, w, 3)
    outside, clear : bool arrays of shape (h, w)
        Ground outside the art; where nothing is painted at all.
    cell_mm : float
    first, second : int64 arrays of shape (n,)
        Flat positions of the pairs that are edges.
    """

    rgb: npt.NDArray[np.uint8]
    lab: npt.NDArray[np.float32]
    outside: Bools
    clear: Bools
    cell_mm: float
    first: Ints
    second: Ints


def reference(
    rgb: npt.NDArray[np.uint8], outside: Bools, clear: Bools | None = None, cell_mm: float = CELL_MM
) -> Reference:
    """Prepare a picture for comparison with one or many pieces.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        One color for each cell, sRGB.
    outside : bool array of shape (h, w)
        Ground outside the art; enclosed ground is art.
    clear : bool array of shape (h, w), optional
        Of `outside`, what is transparent, so that it has no color: every color differs from it.
    cell_mm : float
    """
    clear = np.zeros(outside.shape, dtype=bool) if clear is None else clear
    lab = srgb_to_lab(rgb).astype(np.float32)
    side = _sides(np.where(clear[..., None], np.float32(np.nan), lab))
    lab, rgb = lab.reshape(-1, 3)[side], rgb.reshape(-1, 3)[side]
    outside, clear = outside.ravel()[side], clear.ravel()[side]
    pairs = [_edges(lab, outside, clear, axis) for axis in (0, 1)]
    first, second = (np.concatenate(ends) for ends in zip(*pairs, strict=True))
    return Reference(rgb, lab, outside, clear, cell_mm, first, second)


def _sides(lab: npt.NDArray[np.float32]) -> Ints:
    """Return for each cell the flat position of the cell whose color it takes, nearly always its own.

    An edge of the picture seldom falls between two cells; the mixture there is no color to print. So a cell
    that lies between its neighbors on either side, in place and in color, takes the nearer one. A thin line
    is an extreme and not between, so it stays; so does what has no color (NaN).
    """
    side = np.arange(lab.shape[0] * lab.shape[1]).reshape(lab.shape[:2])
    colors = lab.reshape(-1, 3)
    for reach in _SHARPENED:
        taken, step = side.copy(), np.zeros(side.shape, dtype=np.float32)
        for axis in (0, 1):
            low, middle, high = (_cut(axis, part, reach) for part in ("low", "middle", "high"))
            asked = _differ(colors, side[low], side[high])
            ends = side[low][asked], side[middle][asked], side[high][asked]
            below, own, above = (colors[end] for end in ends)
            span = ((above - below) ** 2).sum(axis=1)
            between = ((own - below) * (above - own)).sum(axis=1) > 0
            wins = between & (span > TOLD_APART**2) & (span > step[middle][asked])
            nearer = ((above - own) ** 2).sum(axis=1) - ((own - below) ** 2).sum(axis=1)
            lower = (nearer > 0) | (
                (nearer == 0) & (below[:, 0] >= above[:, 0])
            )  # whatever way the axis runs
            asked[asked] = wins
            taken[middle][asked] = np.where(lower, ends[0], ends[2])[wins]
            step[middle][asked] = span[wins]
        side = taken
    return side


def _differ(colors: npt.NDArray[np.float32], one: Ints, other: Ints) -> Bools:
    """Tell where two cells have different colors."""
    differ: Bools = np.zeros(one.shape, dtype=bool)
    for channel in np.ascontiguousarray(colors.T):
        differ |= channel[one] != channel[other]
    return differ


def _cut(axis: int, part: str, reach: int) -> tuple[slice, ...]:
    """Return the slices of all cells, or of their neighbors `reach` before or after them along an axis."""
    along = {"low": slice(None, -2 * reach), "middle": slice(reach, -reach), "high": slice(2 * reach, None)}
    return (along[part], slice(None)) if axis == 0 else (slice(None), along[part])


def _edges(lab: npt.NDArray[np.float32], outside: Bools, clear: Bools, axis: int) -> tuple[Ints, Ints]:
    """Return the flat positions of the pairs along an axis whose colors differ plainly."""
    ahead = (slice(PAIR_CELLS, None), slice(None)) if axis == 0 else (slice(None), slice(PAIR_CELLS, None))
    behind = (slice(None, -PAIR_CELLS), slice(None)) if axis == 0 else (slice(None), slice(None, -PAIR_CELLS))
    place = np.arange(outside.size).reshape(outside.shape)
    asked = ~(outside[ahead] & outside[behind])  # of two places beside the art no piece shows anything
    rim = asked & (clear[ahead] != clear[behind])
    some = asked & ~(clear[ahead] | clear[behind])
    first, second = place[behind][some], place[ahead][some]
    colors = lab.reshape(-1, 3)
    differ = _differ(colors, first, second)
    first, second = first[differ], second[differ]
    apart = ((colors[first] - colors[second]) ** 2).sum(axis=1)
    likely = apart >= (PLAIN / GREATEST_RATIO) ** 2
    first, second = first[likely], second[likely]
    plain = ciede2000(colors[first], colors[second]) >= PLAIN
    return (
        np.concatenate([first[plain], place[behind][rim]]),
        np.concatenate([second[plain], place[ahead][rim]]),
    )
