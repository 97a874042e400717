"""Specks and slivers: patches too small to be art go to their neighbors."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..polygons.runs import Pieces, find_pieces
from .capture import Capture
from .mixing import Flags

__all__ = ["filled", "without_slivers", "without_specks"]

Ints = npt.NDArray[np.int64]

_CLEAN_SPECK_PX = 6
_LOSSY_SPECK_PX = 12
_UNSURE_SPECK_PX = 80  # lossy pictures: larger patches may stay without calm pixels of their color
_LEAST_SEEDS = 3
_SLIVER_LABELS = 3  # a pixel that sees that many labels ...
_SLIVER_OWN = 2  # ... and no more than this of its own, takes the commonest
_SLIVER_SIDES = 3  # then so many of the four pixels at its sides are others'
_SLIVER_ROUNDS = 2
_AROUND = ((-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1))


def without_specks(labels: Labels, seeded: Flags, capture: Capture) -> Labels:
    """Give small patches to their neighbors.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
    seeded : bool array of shape (h, w)
        Calm pixels that showed their color undiluted.
    capture : Capture
        Lossy pictures: larger limits, and patches up to 80 px need three seeded pixels. Where they were
        enlarged the limits grow as lengths, slower than areas do, or fine art would go too.
    """
    pieces = find_pieces(labels, diagonal=True)
    speck = pieces.areas < _CLEAN_SPECK_PX
    if capture.lossy:
        enlarged = capture.enlarged
        unsure = pieces.sums(seeded) < _LEAST_SEEDS * enlarged
        limit = np.where(unsure, _UNSURE_SPECK_PX, _LOSSY_SPECK_PX)
        speck = pieces.areas < limit * enlarged
    if not speck.any() or speck.all():
        return labels
    return filled(labels, pieces, speck)


def filled(labels: Labels, pieces: Pieces, speck: Flags) -> Labels:
    """Fill the pixels of the chosen pieces from outside in, each with its commonest known neighbor."""
    padded = np.pad(labels, 1, mode="constant", constant_values=255)
    width = padded.shape[1]
    row, column = np.divmod(pieces.pixels(speck), labels.shape[1])
    at = (row + 1) * width + column + 1
    flat = padded.ravel()
    flat[at] = 255
    steps = np.array([dy * width + dx for dy, dx in _AROUND])
    while len(at):
        around = flat[at[:, None] + steps]
        votes = _votes(around)
        known = votes.any(axis=1)
        if not known.any():
            break
        flat[at[known]] = np.argmax(votes[known], axis=1)
        at = at[~known]
    return padded[1:-1, 1:-1].copy()


def _votes(around: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """Count for each row the labels 0 to 15 among the neighbors."""
    votes = np.zeros((len(around), 16), dtype=np.uint8)
    for label in range(16):
        votes[:, label] = (around == label).sum(axis=1)
    return votes


def without_slivers(labels: Labels) -> Labels:
    """Give single pixels where three areas meet to the commonest label round them, two rounds."""
    steps = np.array([dy * (labels.shape[1] + 2) + dx for dy, dx in _AROUND])
    for _ in range(_SLIVER_ROUNDS):
        padded = np.pad(labels, 1, mode="edge")
        flat = padded.ravel()
        row, column = np.divmod(np.flatnonzero(_unlike_neighbors(padded) >= _SLIVER_SIDES), labels.shape[1])
        at = (row + 1) * padded.shape[1] + column + 1
        around = flat[at[:, None] + steps]
        many = np.flatnonzero((around != flat[at][:, None]).sum(axis=1) > len(_AROUND) - _SLIVER_OWN)
        votes = _votes(around[many])
        votes[np.arange(len(many)), flat[at[many]]] += 1
        own = votes[np.arange(len(many)), flat[at[many]]]
        thin = ((votes > 0).sum(axis=1) >= _SLIVER_LABELS) & (own <= _SLIVER_OWN)
        if not thin.any():
            break
        labels = labels.copy()
        labels[row[many[thin]], column[many[thin]]] = np.argmax(votes[thin], axis=1)
    return labels


def _unlike_neighbors(padded: Labels) -> npt.NDArray[np.uint8]:
    """Count, for each pixel inside the padding, which of the four at its sides have another label."""
    across, down = padded[:, 1:] != padded[:, :-1], padded[1:] != padded[:-1]
    count: npt.NDArray[np.uint8] = across[1:-1, 1:].view(np.uint8) + across[1:-1, :-1].view(np.uint8)
    count += down[1:, 1:-1].view(np.uint8)
    count += down[:-1, 1:-1].view(np.uint8)
    return count
