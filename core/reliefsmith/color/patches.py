"""Small patches of a label map: what lies round them fills what it explains at less cost.

Slivers and speckled pictures, such as photographs of a scene, collapse to areas large enough to print.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..polygons.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .cost import MOST_PATCH_PX, PATCH, Judge
from .mixing import Flags, Mixing, widened
from .modes import Floats

__all__ = ["collapsed_steps", "filled", "without_cheap_patches", "without_slivers"]

_SLIVER_LABELS = 3  # a pixel that sees that many labels ...
_SLIVER_OWN = 2  # ... and no more than this of its own, takes the commonest
_SLIVER_SIDES = _SLIVER_LABELS  # then so many of the four pixels at its sides are others'
_SLIVER_ROUNDS = 2
_MOST_SMALL = 300  # patches too small to print: flat art, lettering too, has fewer by far
_MOST = 1000  # patches of any size
_SMALL_SHARE = 1 / 200  # of the longest side: 0.3 mm on 60 mm, under any usual nozzle
_REACHES = (1, 2, 4, 8)  # half the window of the vote, in pixels; wider only while speckles are left
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


def _window_sums(values: npt.NDArray[np.bool_] | npt.NDArray[np.int32], reach: int) -> npt.NDArray[np.int32]:
    """Sum each row over a window; beyond the border there is nothing."""
    width = values.shape[1]
    total = np.pad(np.cumsum(values, axis=1, dtype=np.int32), ((0, 0), (1, 0)))
    last = np.minimum(np.arange(width) + reach + 1, width)
    sums: npt.NDArray[np.int32] = total[:, last] - total[:, np.maximum(np.arange(width) - reach, 0)]
    return sums
