"""Lettering that a mark replaces: what lies round it, where it stood, and the text that takes its place."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import affinity

from ..colorimetry import to_hex
from ..errors import GeometryError
from ..model import FlatAreas
from ..polygons import merged, window_of
from ..recipe.sections import Inscription
from ..recipe.tables import Mark, named

__all__ = ["ground_at", "replacing"]

_ROUND = 3
_SQUARE = 1.3
"""Lettering nearer to a square than this has no side along which it runs: it stands level."""


def ground_at(polygons: Sequence[shapely.MultiPolygon], window: shapely.Polygon) -> int | None:
    """Return the entry that lies along most of a window's edge; None where that is background.

    Examples
    --------
    >>> field, letter = shapely.box(0, 0, 9, 9) - shapely.box(2, 2, 3, 4), shapely.box(2, 2, 3, 4)
    >>> ground_at([shapely.MultiPolygon([letter]), shapely.MultiPolygon([field])], shapely.box(1, 1, 8, 8))
    1
    """
    edge = window.exterior
    lengths = [float(shapely.length(shapely.intersection(edge, polygon))) for polygon in polygons]
    best = int(np.argmax(lengths)) if lengths else 0
    free = edge.length - sum(lengths)
    return None if not lengths or free > lengths[best] else best


def replacing(marks: Sequence[Mark], areas: FlatAreas) -> tuple[Inscription, ...]:
    """Return the texts that marks of the kind "replace" set, in the place, turn and color of what was there.

    They fill the polygon's box as large as they go, along the lettering: what was too small prints if the
    polygon is drawn larger.

    Parameters
    ----------
    marks : sequence of Mark
    areas : FlatAreas
        Before any mark.

    Raises
    ------
    GeometryError
        If there is no lettering in a mark's polygon.
    """
    return tuple(_text(mark, name, areas) for name, mark in named(marks) if mark.kind == "replace")


def _text(mark: Mark, name: str, areas: FlatAreas) -> Inscription:
    window = window_of(mark.polygon_mm or (), name)
    ground = ground_at(areas.polygons, window)
    ink = [
        shapely.MultiPolygon() if index == ground else shapely.intersection(polygon, window)
        for index, polygon in enumerate(areas.polygons)
    ]
    letters = merged(ink)
    if letters.is_empty:
        raise GeometryError(f"{name} finds no lettering in its polygon; draw it round the letters")
    color = areas.colors[int(np.argmax(shapely.area(ink)))]
    turn = _turn(letters)
    x, y = shapely.get_coordinates(window.centroid)[0].tolist()
    left, low, right, high = affinity.rotate(window, -turn, "centroid").bounds
    along, up = (left + right) / 2 - x, (low + high) / 2 - y  # of the box's middle from the centroid
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    x, y = x + along * cos - up * sin, y + along * sin + up * cos
    box = (x - (right - left) / 2, y - (high - low) / 2, right - left, high - low)
    return Inscription(
        mark.words or "",
        box_mm=tuple(round(float(value), _ROUND) for value in box),  # type: ignore[arg-type]
        turn_deg=turn,
        color=to_hex(color),
    )


def _turn(letters: shapely.MultiPolygon) -> float:
    """Return along which direction letters run, in degrees from -90 to 90."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(letters))[:3]
    short, long = sorted(np.diff(corners, axis=0), key=lambda side: float(np.hypot(*side)))
    if math.hypot(*long) < _SQUARE * math.hypot(*short):
        return 0.0
    return round((math.degrees(math.atan2(long[1], long[0])) + 90) % 180 - 90, 2)
