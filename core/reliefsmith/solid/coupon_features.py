"""The features of the coupon: rows of strokes, gaps, holes, dots and steps, each with its nominal size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely

from ..polygons import disc, from_grid, to_grid

__all__ = ["FINGER_MM", "HEIGHT_MM", "KINDS", "WIDTH_MM", "Feature", "features", "plate"]

WIDTH_MM, HEIGHT_MM = 60.0, 30.0
CORNER_MM = 3.0
"""Cut off the upper left corner, so that nobody reads the piece the wrong way round."""

STROKES_MM = (0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2)
GAPS_MM = (0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)
DOTS_MM = (0.6, 0.8, 1.0, 1.2, 1.6, 2.0)
HOLES_MM = (2.0, 3.0, 4.0, 5.0, 6.0)
FACE_STROKES_MM = (0.4, 0.5, 0.6, 0.8, 1.0, 1.2)
STEPS = (1, 2, 3, 4, 5, 6)

KINDS = ("stroke", "gap", "step", "thick", "dot", "hole", "face")
"""Kinds of features in the order in which the piece is read: from the cut corner along the rows."""

_ROWS_MM = ((9.0, 13.5), (2.5, 7.0))  # lower and upper edge of the two rows of raised features
_LEFT_MM = -27.0
FINGER_MM = 2.4
_PATCH_MM = 4.4


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing to look at or to measure.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    size : float
        Its width or diameter in mm; for a step its number of layers, for the thick patch its edge in mm.
    shape : Polygon
        What is printed light, or left open for gaps and holes; on the 1 um grid.
    """

    kind: str
    size: float
    shape: shapely.Polygon


def plate() -> shapely.Polygon:
    """Return the outline of the plate, one corner cut off."""
    x, y = WIDTH_MM / 2, HEIGHT_MM / 2
    return shapely.Polygon([(-x, -y), (x, -y), (x, y), (CORNER_MM - x, y), (-x, y - CORNER_MM)])


def features() -> tuple[Feature, ...]:
    """Return all features in the order of reading; those of one kind lie in a row, small to large.

    Examples
    --------
    >>> [item.size for item in features() if item.kind == "hole"]
    [2.0, 3.0, 4.0, 5.0, 6.0]
    """
    top, middle = _ROWS_MM
    x, y = _LEFT_MM, sum(middle) / 2
    patches = _spaced(STEPS, x, 5.0, lambda _: _PATCH_MM)
    thick_at = x + 5.0 * len(STEPS) + 1.0
    return (
        *(_bar("stroke", size, at, top) for size, at in _spaced(STROKES_MM, x, 2.6, lambda size: size)),
        *_gaps(-7.0, top),
        *(_bar("step", count, at, middle, _PATCH_MM) for count, at in patches),
        _bar("thick", _PATCH_MM, thick_at, middle),
        *(_round("dot", size, 12.5 + 2.8 * i, y) for i, size in enumerate(DOTS_MM)),
        *(
            _round("hole", size, at, -5.5)
            for size, at in zip(HOLES_MM, (-25.5, -20, -13.5, -6, 2.5), strict=True)
        ),
        *(
            _bar("face", size, at, (-10.0, -2.0))
            for size, at in _spaced(FACE_STROKES_MM, 10.0, 3.0, lambda size: size)
        ),
    )


def _spaced(
    sizes: Sequence[float], left: float, pitch: float, width: Callable[[float], float]
) -> list[tuple[float, float]]:
    """Return each size with the left edge of its place, centered on equal spacing."""
    return [(size, left + pitch * i + (pitch - width(size)) / 2) for i, size in enumerate(sizes)]


def _bar(
    kind: str, size: float, left: float, rows: tuple[float, float], width: float | None = None
) -> Feature:
    return Feature(kind, size, _snapped(shapely.box(left, rows[0], left + (width or size), rows[1])))


def _gaps(left: float, rows: tuple[float, float]) -> list[Feature]:
    found = []
    for size in GAPS_MM:
        left += FINGER_MM
        found.append(_bar("gap", size, left, rows))
        left += size
    return found


def _round(kind: str, size: float, x: float, y: float) -> Feature:
    return Feature(kind, size, _snapped(disc(x, y, size / 2)))


def _snapped(shape: shapely.Polygon) -> shapely.Polygon:
    return shapely.Polygon(from_grid(to_grid(shapely.get_coordinates(shape))))
