"""Ground that the art encloses: it shows, as part of the picture."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..polygons.runs import find_pieces

__all__ = ["enclosed_ground"]


def enclosed_ground(labels: Labels, mode: str) -> npt.NDArray[np.int64]:
    """Return the flat positions of ground that hangs together with no side of the picture.

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
    """
    if mode == "remove":
        return np.zeros(0, dtype=np.int64)
    pieces = find_pieces(labels)
    ground = pieces.labels == 0
    if mode == "auto" and not (ground & pieces.at_border).any():
        return np.zeros(0, dtype=np.int64)
    return pieces.pixels(ground & ~pieces.at_border)
