"""Notes of changes by place and size, the largest first, with the long tail summed up."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
import shapely

from ..findings import Note, note
from ..polygons import polygons_of

__all__ = ["LEAST_NOTED_MM2", "place_of", "remarks"]

LEAST_NOTED_MM2 = 0.02
"""Changes smaller than this square of 0.14 mm are below what a nozzle can show."""

_MOST = 24
"""A reader looks at a few dozen places; the rest is summed up in one line."""


def place_of(polygon: shapely.Geometry) -> tuple[float, float]:
    """Return a point of the polygon for a reader to look at, rounded to 0.01 mm."""
    point = polygon.centroid if polygon.contains(polygon.centroid) else polygon.point_on_surface()
    return (round(point.x, 2), round(point.y, 2))


def remarks(
    code: str,
    changed: shapely.Geometry | Iterable[shapely.Geometry],
    message: str | Callable[[shapely.Polygon], str],
) -> tuple[Note, ...]:
    """Make one note for each changed piece: where it is and how long.

    Parameters
    ----------
    code : str
        A registered code.
    changed : geometry or iterable of geometries
        What was added or taken; pieces under `LEAST_NOTED_MM2` are left out.
    message : str or callable
        Words in which `{size}` stands for the longest extent in mm, or what gives them for a piece.
    """
    pieces = [piece for piece in polygons_of(changed) if piece.area >= LEAST_NOTED_MM2]
    order = np.argsort([-piece.area for piece in pieces], kind="stable")
    made = []
    for index in order[:_MOST]:
        size = round(2 * float(shapely.minimum_bounding_radius(pieces[index])), 2)
        words = message if isinstance(message, str) else message(pieces[index])
        made.append(note(code, words.format(size=f"{size:g}"), place_of(pieces[index]), size))
    left = len(pieces) - len(made)
    if left > 0:
        made.append(note(code, f"{left} more such places, all smaller."))
    return tuple(made)
