"""Background color inside the art: an opening, or a color such as the white of an eye."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.arrays import Labels
from ..plane.groups import joined
from .mixing import Flags
from .runs import Pieces, find_pieces

__all__ = ["kept_enclosed"]


def kept_enclosed(labels: Labels, mode: str) -> npt.NDArray[np.int64]:
    """Return the flat positions of enclosed background pixels that are a color of the art.

    The rule of "auto": enclosed background is an opening unless it holds an island of another color than
    those that surround it, as the white of an eye holds a pupil. (Counted on 900 open artworks: of 1500
    openings none held such an island, of those white areas that held any island in art of several colors
    five in six did. In art of one color every enclosed area is an opening.)

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 is the background's color, connected to the border or not.
    mode : str
        "auto", "keep" or "remove".
    """
    if mode == "remove":
        return np.zeros(0, dtype=np.int64)
    pieces = find_pieces(labels)
    enclosed = (pieces.labels == 0) & ~pieces.at_border
    if mode == "auto":
        enclosed &= _holds_other_island(pieces, np.flatnonzero(enclosed))
    return pieces.pixels(enclosed)


def _holds_other_island(pieces: Pieces, candidates: npt.NDArray[np.int64]) -> Flags:
    holds = np.zeros(len(pieces.areas), dtype=bool)
    for candidate in candidates:  # a handful of areas, not pixels
        links = pieces.links[(pieces.links != candidate).all(axis=1)]
        _, group = joined(len(pieces.areas), links[:, 0], links[:, 1])
        touching = pieces.links[(pieces.links == candidate).any(axis=1)].sum(axis=1) - candidate
        outside = group[np.flatnonzero(pieces.at_border)[0]]
        island = touching[group[touching] != outside]
        around = touching[group[touching] == outside]
        holds[candidate] = not np.isin(pieces.labels[island], pieces.labels[around]).all()
    return holds
