"""Ground that the art encloses: it shows, as part of the picture."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..model.arrays import Labels
from ..polygons.runs import find_pieces
from .background import LIKE_BACKGROUND
from .mixing import Mixing
from .modes import Floats
from .patches import filled

__all__ = ["enclosed_ground", "with_pale_areas"]

_SPECK_PX = 9
"""Pixels from which ground that meets the ground outside at a corner is no speck of an edge: 3 x 3. Beside
pale edges of compressed pictures specks of 2 to 12 were seen; a larger limit was not tried."""


def enclosed_ground(labels: Labels, mode: str) -> tuple[Labels, npt.NDArray[np.int64]]:
    """Take specks of ground out of labels, and find ground that hangs together with no side of the picture.

    Whether an enclosed area is paint or an opening cannot be told from an opaque picture: on 857 areas of
    open artworks no rule on size, roundness, wall, islands or colors round it, hand-made or learned, did
    better than to show them all, and a lost white area costs the picture more than a closed opening. So they
    all show unless the user says otherwise. A ground that reaches no side at all was picked by hand: it is
    background then wherever it lies, and is kept only if the user says so.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 is the ground's color, enclosed or not.
    mode : str
        "auto", "keep" or "remove".

    Returns
    -------
    uint8 array of shape (h, w)
    int64 array of shape (n,)
        Flat positions.
    """
    pieces = find_pieces(labels)
    ground = pieces.labels == 0
    enclosed = ground & ~pieces.at_border
    specks = enclosed & (pieces.areas < _SPECK_PX)
    if specks.any():
        specks &= pieces.sums(_outside(labels)) > 0
        labels, enclosed = filled(labels, pieces, specks), enclosed & ~specks
    if mode == "remove" or (mode == "auto" and not (ground & pieces.at_border).any()):
        enclosed[:] = False
    return labels, pieces.pixels(enclosed)


def _outside(labels: Labels) -> npt.NDArray[np.bool_]:
    """Return which pixels of ground hang together with a side of the picture, corners included."""
    pieces = find_pieces(labels, diagonal=True)
    outside = np.zeros(labels.shape, dtype=bool)
    outside.ravel()[pieces.pixels((pieces.labels == 0) & pieces.at_border)] = True
    return outside


def with_pale_areas(labels: Labels, shown: Floats, mixing: Mixing) -> Labels:
    """Give enclosed ground to a color of the art that is like the ground's, where its middle color is nearer.

    Compression makes pixels of such a color look like ground or its shadow, of a small area most of them.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
    shown : float64 array of shape (k + 1, c)
        What each label shows, the ground first.
    mixing : Mixing
        The picture as it was read.
    """
    labs = srgb_to_lab(shown[:, :3])
    rivals = np.flatnonzero(ciede2000(labs, labs[0]) < LIKE_BACKGROUND)
    if len(rivals) == 1:
        return labels
    pieces = find_pieces(labels)
    enclosed = np.flatnonzero((pieces.labels == 0) & ~pieces.at_border)
    result = labels.copy()
    for pixels in pieces.pixels_of(enclosed)[: len(enclosed)]:
        middle = [np.median(plane.ravel()[pixels]) for plane in mixing.planes[:3]]
        nearest = ciede2000(labs[rivals], srgb_to_lab(np.array(middle))).argmin()
        result.ravel()[pixels] = rivals[nearest]
    return result
