"""The 1 um grid on which everything in millimetres stands, so that equal points are equal numbers."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Floats, Ints

__all__ = ["GRID_MM", "face_down", "from_grid", "on_grid", "snapped", "to_grid"]

GRID_MM = 0.001
"""Step of the grid: far below what any printer resolves, far above the noise of float64 at 2 m."""

_PER_MM = 1000


def to_grid(points: npt.ArrayLike) -> Ints:
    """Return points (n, 2) in mm as whole grid steps, rounded to the nearest.

    Examples
    --------
    >>> to_grid([[1.0004, -2.0]]).tolist()
    [[1000, -2000]]
    """
    rounded: Ints = np.rint(np.asarray(points, dtype=np.float64) * _PER_MM).astype(np.int64)
    return rounded


def from_grid(points: Ints) -> Floats:
    """Return whole grid steps as mm; equal steps give equal floats.

    Examples
    --------
    >>> from_grid(to_grid([[1.2345, -0.0004]])).tolist()
    [[1.234, 0.0]]
    """
    return points / float(_PER_MM)


def snapped(points: npt.ArrayLike) -> Floats:
    """Return points in mm moved to the nearest point of the grid.

    Examples
    --------
    >>> snapped([[1.23456, -0.0004]]).tolist()
    [[1.235, 0.0]]
    """
    return from_grid(to_grid(points))


def face_down(geometry: shapely.Geometry) -> shapely.Geometry:
    """Return what lies face down, left and right exchanged; the grid maps onto itself, so nothing is rounded.

    Examples
    --------
    >>> face_down(shapely.box(-1, 0, 3, 2)).bounds
    (-3.0, 0.0, 1.0, 2.0)
    """
    return shapely.transform(geometry, lambda points: points * (-1.0, 1.0) + 0.0)


def on_grid(geometry: shapely.Geometry) -> bool:
    """Tell whether every vertex is exactly the float nearest to a point of the grid.

    Examples
    --------
    >>> on_grid(shapely.Point(0.001, 2.5)), on_grid(shapely.Point(0.0005, 0))
    (True, False)
    """
    points = shapely.get_coordinates(geometry)
    return bool(np.array_equal(points, snapped(points)))
