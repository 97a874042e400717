"""Small patches and slivers of a label map: what lies round them fills what it explains at less cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..polygons.runs import Pieces, find_pieces
from .cost import MOST_PATCH_PX, PATCH, Judge
from .mixing import Flags, Mixing, widened
from .modes import Floats

__all__ = ["filled", "without_cheap_patches", "without_slivers"]

_SLIVER_LABELS = 3  # a pixel that sees that many labels ...
_SLIVER_OWN = 2  # ... and no more than this of its own, takes the commonest
_SLIVER_SIDES = 3  # then so many of the four pixels at its sides are others'
_SLIVER_ROUNDS = 2
_AROUND = ((-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1))


def without_cheap_patches(labels: Labels, seeds: Labels, mixing: Mixing, judge: Judge) -> Labels:
    """Give small patches that do not pay for themselves to their neighbors.

    A patch gains what its color explains of its pixels better than the colors near to it do without. Of
    neighbors that explain each other both could go: what then is left open comes back.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
    seeds : uint8 array of shape (h, w)
        Labels of calm pixels, 255 elsewhere.
    mixing : Mixing
    judge : Judge
    """
    pieces = find_pieces(labels, diagonal=True)
    cheap = pieces.areas <= MOST_PATCH_PX * judge.capture.enlarged**2
    if not cheap.any() or cheap.all():
        return labels
    shown = _Shown(labels, seeds, mixing)
    result = labels
    for _ in range(2):
        cheap &= _gains(shown, pieces, cheap, result, judge) <= PATCH
        if not cheap.any():
            return labels
        result = filled(labels, pieces, cheap)
    return result


@dataclass(frozen=True, slots=True)
class _Shown:
    """Labels as drawn, those of calm pixels, and what the pixels show."""

    labels: Labels
    seeds: Labels
    mixing: Mixing


def _gains(shown: _Shown, pieces: Pieces, asked: Flags, around: Labels, judge: Judge) -> Floats:
    """Return what each of the patches asked for gains amid the labels of another map, in squares of noise."""
    at = pieces.pixels(asked)
    bits = (1 << np.arange(16)).astype(np.uint16)
    own = bits[shown.labels.ravel()[at]]
    low = bits.astype(np.uint8)  # half as much to widen
    near = widened(bits[around], judge.reach) if around.max() > 7 else widened(low[around], judge.reach)
    near = near.ravel()[at].astype(np.uint16)
    values = np.stack([plane.ravel()[at] for plane in shown.mixing.planes])
    calm = (shown.seeds == shown.labels).ravel()[at]
    gain = judge.left_open(values, near & ~own, calm) - judge.left_open(values, near | own, calm)
    runs = asked[pieces.of_run]
    piece = np.repeat(pieces.of_run[runs], pieces.lengths[runs])
    return np.bincount(piece, weights=gain, minlength=len(asked)) / judge.capture.enlarged**2


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
