"""Speckled pictures, such as photographs of a scene: they collapse to areas large enough to print."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..polygons.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .mixing import Flags
from .patches import filled

__all__ = ["collapsed_steps"]

_MOST_SMALL = 300  # patches too small to print: flat art, lettering too, has fewer by far
_MOST = 1000  # patches of any size
_SMALL_SHARE = 1 / 200  # of the longest side: 0.3 mm on 60 mm, under any usual nozzle
_REACHES = (1, 2, 4, 8)  # half the window of the vote, in pixels; wider only while speckles are left

Counts = npt.NDArray[np.int32]


def collapsed_steps(labels: Labels) -> Steps[tuple[Labels, bool]]:
    """Collapse a speckled picture to few areas; any other stays as it is.

    A picture is speckled if it falls into more than 300 patches under 1/200 of its longest side squared, or
    into more than 1000 patches. Then every pixel takes the commonest label of a window round it, a wider and
    wider one while the picture is still speckled, and patches that stay so small go to their neighbors.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 to 15.

    Returns
    -------
    labels : uint8 array of shape (h, w)
    speckled : bool
    """
    least = (max(labels.shape) * _SMALL_SHARE) ** 2
    pieces = find_pieces(labels)
    if not _is_speckled(pieces, least):
        return labels, False
    for reach in _REACHES:
        yield Progress("joining speckles", 0.87)
        labels = _voted(labels, reach)
        pieces = find_pieces(labels)
        if not _is_speckled(pieces, least):
            break
    small: Flags = pieces.areas < least
    return (labels if small.all() or not small.any() else filled(labels, pieces, small)), True


def _is_speckled(pieces: Pieces, least: float) -> bool:
    return bool(np.count_nonzero(pieces.areas < least) > _MOST_SMALL or len(pieces.areas) > _MOST)


def _voted(labels: Labels, reach: int) -> Labels:
    """Give each pixel the commonest label within a square window; its own wins a tie, then the smaller."""
    most = np.zeros(labels.shape, dtype=np.int32)
    winner = np.zeros_like(labels)
    for label in range(int(labels.max()) + 1):
        own = labels == label
        votes = _window_sums(_window_sums(own, reach).T, reach).T * 2 + own
        more = votes > most
        most[more] = votes[more]
        winner[more] = label
    return winner


def _window_sums(values: npt.NDArray[np.bool_] | Counts, reach: int) -> Counts:
    """Sum each row over a window; beyond the border there is nothing."""
    width = values.shape[1]
    total = np.pad(np.cumsum(values, axis=1, dtype=np.int32), ((0, 0), (1, 0)))
    last = np.minimum(np.arange(width) + reach + 1, width)
    sums: Counts = total[:, last] - total[:, np.maximum(np.arange(width) - reach, 0)]
    return sums
