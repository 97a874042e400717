"""How legible a picture stays on a base of one color or another, before anything is mended."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ...colorimetry.reference import CELL_MM, Reference, reference
from ...colorimetry.seen import edges_kept
from ...model.arrays import Color, Ints
from ...polygons.cover import View, coverages
from .ground import Art

__all__ = ["edges_on", "from_above"]

_MOST_CELLS = 1000
"""Along the longest side: a larger piece is looked at from farther away."""

_ROOM_MM = 2.0


def edges_on(picture: Art, base: shapely.Geometry, choices: Sequence[Color]) -> list[float]:
    """Return for each color of a base which share of the picture's edges a piece on it keeps.

    Parameters
    ----------
    picture : Art
        On the color of its ground, or on nothing.
    base : Polygon or MultiPolygon
        What carries it, seen from above.
    choices : sequence of (r, g, b)
    """
    wanted, shown = from_above(picture, base)
    return [edges_kept(wanted, shown, np.array([*picture.colors, choice], np.uint8)) for choice in choices]


def from_above(picture: Art, base: shapely.Geometry) -> tuple[Reference, Ints]:
    """Return the picture to compare with, and which of its colors a piece shows.

    Returns
    -------
    Reference, int64 array of shape (h, w)
        Labels are 0 for open air, then the picture's colors, then the base where nothing lies on it.
    """
    left, low, right, high = base.bounds
    cell = max(CELL_MM, max(right - left, high - low) / _MOST_CELLS)
    view = View.around(base.bounds, 1 / cell, pad_mm=_ROOM_MM)
    labels = coverages(picture.polygons, view).argmax(axis=0)
    carried = coverages([base], view)[1] > 0.5
    ground = picture.ground or picture.colors[0]
    clear = labels == 0 if picture.ground is None else None
    wanted = reference(np.array([ground, *picture.colors], dtype=np.uint8)[labels], labels == 0, clear, cell)
    return wanted, np.where((labels == 0) & carried, len(picture.colors) + 1, labels)
