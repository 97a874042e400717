"""Small patches of a label map: what lies round them fills what it explains at less cost.

Speckled pictures, such as photographs of a scene, collapse to areas large enough to print.
"""

from __future__ import annotations

import numpy as np

from ..colorimetry.window import window_sums
from ..model.arrays import Labels
from ..polygons.runs import Pieces, find_pieces
from ..progress import Progress, Steps
from .cost import MOST_PATCH_PX, PATCH, Judge, spread
from .mixing import Flags, Mixing, near_labels

__all__ = ["collapsed_steps", "filled", "without_cheap_patches"]

_MOST_SMALL = 300  # patches too small to print: compressed rays have up to 210, nearly all else under 100
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
    values = np.stack([plane.ravel() for plane in mixing.planes])
    result, calm = labels, (seeds == labels).ravel()
    for _ in range(2):
        at = pieces.pixels(cheap)
        near = near_labels(result, int(result.max()) + 1, spread(judge.capture)).ravel()[at].astype(np.uint16)
        own = np.uint16(1) << labels.ravel()[at]
        gain = judge.left_open(values[:, at], near & ~own, calm[at])
        gain -= judge.left_open(values[:, at], near | own, calm[at])
        runs = cheap[pieces.of_run]
        piece = np.repeat(pieces.of_run[runs], pieces.lengths[runs])
        gains = np.bincount(piece, weights=gain, minlength=len(cheap)) / judge.capture.enlarged**2
        cheap &= gains <= PATCH
        if not cheap.any():
            return labels
        result = filled(labels, pieces, cheap)
    return result


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
        every = range(labels.max() + 1)
        votes = np.stack([(around == label).sum(axis=1, dtype=np.uint8) for label in every], axis=1)
        known = votes.any(axis=1)
        if not known.any():
            break
        flat[at[known]] = np.argmax(votes[known], axis=1)
        at = at[~known]
    return padded[1:-1, 1:-1].copy()


def collapsed_steps(labels: Labels) -> Steps[Labels]:
    """Collapse a speckled picture to few areas; any other stays as it is.

    A picture is speckled if it falls into more than 300 patches under 1/200 of its longest side squared. Then
    every pixel takes the commonest label of a window round it, a wider and wider one while the picture is
    speckled still, and patches that stay so small go to their neighbors.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 to 15.
    """
    least = (max(labels.shape) * _SMALL_SHARE) ** 2
    pieces = find_pieces(labels)
    if not _is_speckled(pieces, least):
        return labels
    for reach in _REACHES:
        yield Progress("joining speckles", 0.87)
        labels = _voted(labels, reach)
        pieces = find_pieces(labels)
        if not _is_speckled(pieces, least):
            break
    small: Flags = pieces.areas < least
    return labels if small.all() or not small.any() else filled(labels, pieces, small)


def _is_speckled(pieces: Pieces, least: float) -> bool:
    return bool(np.count_nonzero(pieces.areas < least) > _MOST_SMALL)


def _voted(labels: Labels, reach: int) -> Labels:
    """Give each pixel the commonest label within a square window; its own wins a tie, then the smaller."""
    most = np.zeros(labels.shape, dtype=np.int32)
    winner = np.zeros_like(labels)
    for label in range(int(labels.max()) + 1):
        own = labels == label
        votes = window_sums(own, reach) * 2 + own
        more = votes > most
        most[more] = votes[more]
        winner[more] = label
    return winner
