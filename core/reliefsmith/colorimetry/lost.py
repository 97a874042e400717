"""Where a piece does not show its picture: connected places, each with what is missed there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..polygons.groups import joined
from .reference import PAIR_CELLS, Bools, Ints, Reference
from .window import widened

__all__ = ["Lost", "lost_edges", "lost_paint"]

Color = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Lost:
    """A connected place at which the eye misses something.

    Parameters
    ----------
    kind : str
        "edge" where two colors of the picture show as one, "paint" where a color shows as another.
    at_mm : (float, float)
        A cell of the place, near its middle, from the grid's upper left corner, y down.
    size_mm : float
        Longest side of its bounding box.
    cells : int
        How large it is: pairs of places, or cells.
    colors : (color, color or None)
        Of the two sides in the picture, the lighter first; or what is wanted and what is seen. None is open
        air or a transparent ground.
    """

    kind: str
    at_mm: tuple[float, float]
    size_mm: float
    cells: int
    colors: tuple[Color, Color | None]


def lost_edges(wanted: Reference, missed: Bools, most: int) -> list[Lost]:
    """Return the connected places of pairs that show one color only, the largest first."""
    first, second = wanted.first[missed], wanted.second[missed]
    middle = (first + second) // 2
    flags = np.zeros(wanted.outside.shape, dtype=bool)
    flags.ravel()[middle] = True
    lost = []
    for place, pairs in _places(flags, middle, most):
        lighter, darker = _typical(wanted, first[pairs], second[pairs])
        colors = (_color(wanted.rgb, lighter), None if darker is None else _color(wanted.rgb, darker))
        lost.append(_told("edge", place, len(pairs), wanted.cell_mm, colors))
    return lost


def lost_paint(
    wanted: Reference, missed: Bools, labels: npt.NDArray[Any], colors: npt.NDArray[np.uint8], most: int
) -> list[Lost]:
    """Return the connected places that show another color than is wanted, the largest first."""
    lost = []
    every = np.flatnonzero(missed)
    for place, cells in _places(missed, every, most):
        own = every[cells]
        shown = int(np.bincount(labels.ravel()[own]).argmax())
        lab = wanted.lab.reshape(-1, 3)[own]
        typical = int(own[((lab - np.median(lab, axis=0)) ** 2).sum(axis=1).argmin()])
        pair = (_color(wanted.rgb, typical), _color(colors, shown - 1) if shown else None)
        lost.append(_told("paint", place, len(own), wanted.cell_mm, pair))
    return lost


def _places(flags: Bools, things: Ints, most: int) -> list[tuple[tuple[Ints, Ints], Ints]]:
    """Return the connected places of flagged cells that hold most things; cells two apart are connected too.

    Returns
    -------
    list of ((rows, columns), int64 array)
        The flagged cells, and indices into `things`, which are flat positions of flagged cells.
    """
    wide = widened(flags, 1)
    cells = np.flatnonzero(wide)
    number = np.full((flags.shape[0] + 1, flags.shape[1] + 2), -1, dtype=np.int64)
    inside = number[:-1, 1:-1]
    inside[wide] = np.arange(len(cells))
    beside = [number[:-1, 2:], *(number[1:, shift : shift + flags.shape[1]] for shift in (0, 1, 2))]
    links = [(inside[both], other[both]) for other in beside for both in [(inside >= 0) & (other >= 0)]]
    one, another = (np.concatenate(side) for side in zip(*links, strict=True))
    count, group = joined(len(cells), one, another)
    of_thing = group[inside.ravel()[things]]
    flagged = np.flatnonzero(flags)
    of_cell = group[inside.ravel()[flagged]]
    largest = np.argsort(-np.bincount(of_thing, minlength=count), kind="stable")[:most]
    return [
        (np.divmod(flagged[of_cell == chosen], flags.shape[1]), np.flatnonzero(of_thing == chosen))
        for chosen in largest
    ]


def _typical(wanted: Reference, first: Ints, second: Ints) -> tuple[int, int | None]:
    """Return two cells that stand for many pairs: near the median of the lighter and of the darker places."""
    lab, clear = wanted.lab.reshape(-1, 3), wanted.clear.ravel()
    swap = np.where(clear[first] | clear[second], clear[first], lab[first, 0] < lab[second, 0])
    lighter, darker = np.where(swap, second, first), np.where(swap, first, second)
    off = np.zeros(len(first))
    for side in (lighter, darker):
        off += ((lab[side] - np.median(lab[side], axis=0)) ** 2).sum(axis=1)
    best = int(np.argmin(off))
    return int(lighter[best]), None if clear[darker[best]] else int(darker[best])


def _told(
    kind: str,
    place: tuple[Ints, Ints],
    cells: int,
    cell_mm: float,
    colors: tuple[Color, Color | None],
) -> Lost:
    """Return a lost place of given rows and columns; what stands for it is its cell nearest to the middle."""
    rows, columns = place
    middle = int(np.argmin((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2))
    at = (float(columns[middle] + 0.5) * cell_mm, float(rows[middle] + 0.5) * cell_mm)
    size = max(int(np.ptp(rows)), int(np.ptp(columns))) + 1
    if kind == "edge":  # middles of pairs that straddle it lie on both sides
        size = max(size - PAIR_CELLS, 1)
    return Lost(kind, at, size * cell_mm, cells, colors)


def _color(rgb: npt.NDArray[np.uint8], place: int) -> Color:
    red, green, blue = (int(value) for value in rgb.reshape(-1, 3)[place])
    return red, green, blue
