"""Connected areas of a label map, found on horizontal runs: the cost grows with boundaries, not pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Flags, Ints, Labels
from .groups import counted_on, joined

__all__ = ["Pieces", "find_pieces"]


@dataclass(frozen=True, slots=True)
class Pieces:
    """Connected pieces of a label map.

    Parameters
    ----------
    starts, lengths : int64 arrays of shape (n,)
        Runs of one label in a row, as positions in the flattened map.
    of_run : int64 array of shape (n,)
        Piece of each run.
    labels, areas : arrays of shape (m,)
        Label and pixel count of each piece.
    at_border : bool array of shape (m,)
        Whether the piece reaches the picture's border.
    links : int64 array of shape (l, 2)
        Pairs of pieces that touch along a pixel edge, each once, the smaller number first; not looked for
        where pieces may hang together at corners.
    """

    starts: Ints
    lengths: Ints
    of_run: Ints
    labels: Labels
    areas: Ints
    at_border: Flags
    links: Ints

    def pixels(self, chosen: Flags) -> Ints:
        """Return the flat positions of all pixels of the chosen pieces."""
        runs = np.flatnonzero(chosen[self.of_run])
        return counted_on(self.starts[runs], self.lengths[runs])[0]

    def pixels_of(self, chosen: Ints) -> list[Ints]:
        """Return the flat positions of the pixels of each of the chosen pieces (k,), one after the other."""
        rank = np.full(len(self.areas), len(chosen), dtype=np.int64)
        rank[chosen] = np.arange(len(chosen))
        runs = np.flatnonzero(rank[self.of_run] < len(chosen))
        runs = runs[np.argsort(rank[self.of_run[runs]], kind="stable")]
        every, _ = counted_on(self.starts[runs], self.lengths[runs])
        return np.split(every, np.cumsum(self.areas[chosen])[:-1])

    def sums(self, flags: Flags) -> Ints:
        """Count the flagged pixels (h, w) in each piece."""
        total = np.concatenate([[0], np.cumsum(flags.ravel(), dtype=np.int64)])
        by_run = total[self.starts + self.lengths] - total[self.starts]
        return np.bincount(self.of_run, weights=by_run, minlength=len(self.areas)).astype(np.int64)


def find_pieces(labels: Labels, *, diagonal: bool = False) -> Pieces:
    """Find the connected pieces of each label.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
    diagonal : bool
        Whether pixels that touch only at a corner are connected.
    """
    height, width = labels.shape
    change = np.ones(labels.shape, dtype=bool)
    np.not_equal(labels[:, 1:], labels[:, :-1], out=change[:, 1:])
    starts = np.flatnonzero(change).astype(np.int64)
    lengths = np.diff(starts, append=labels.size)
    run_labels = labels.ravel()[starts]
    above, below = _overlaps(starts, lengths, (height, width), reach=int(diagonal))
    same = run_labels[above] == run_labels[below]
    count = len(starts)
    pieces, of_run = joined(count, above[same], below[same])
    first = np.full(pieces, count, dtype=np.int64)
    first[of_run[::-1]] = np.arange(count)[::-1]  # the earliest run of each piece is written last
    row, column = np.divmod(starts, width)
    edge = (row == 0) | (row == height - 1) | (column == 0) | (column + lengths == width)
    at_border = np.zeros(pieces, dtype=bool)
    at_border[of_run[edge]] = True
    areas = np.bincount(of_run, weights=lengths, minlength=pieces).astype(np.int64)
    links = np.zeros((0, 2), np.int64) if diagonal else _links(starts, of_run, (above, below), width)
    return Pieces(starts, lengths, of_run, run_labels[first], areas, at_border, links)


def _overlaps(starts: Ints, lengths: Ints, shape: tuple[int, int], *, reach: int) -> tuple[Ints, Ints]:
    """Return pairs of runs in successive rows that lie over each other."""
    height, width = shape
    row, column = np.divmod(starts, width)
    upper = np.flatnonzero(row < height - 1)
    base = (row[upper] + 1) * width
    left = base + np.maximum(column[upper] - reach, 0)
    right = base + np.minimum(column[upper] + lengths[upper] - 1 + reach, width - 1)
    first = np.searchsorted(starts, left, side="right") - 1
    last = np.searchsorted(starts, right, side="right") - 1
    below, owner = counted_on(first, last - first + 1)
    return upper[owner], below


def _links(starts: Ints, of_run: Ints, overlaps: tuple[Ints, Ints], width: int) -> Ints:
    beside = np.flatnonzero(starts[1:] % width != 0)
    one = np.concatenate([of_run[overlaps[0]], of_run[beside]])
    other = np.concatenate([of_run[overlaps[1]], of_run[beside + 1]])
    differ = one != other
    low = np.minimum(one[differ], other[differ])
    high = np.maximum(one[differ], other[differ])
    count = int(of_run.max()) + 1
    packed = np.unique(low * count + high)
    return np.stack(np.divmod(packed, count), axis=1)
