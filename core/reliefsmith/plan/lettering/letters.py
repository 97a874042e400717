"""Pieces that may be letters: what can be told of each from its polygon alone, wherever and however it lies.

Size is the radius of gyration, stroke twice the area by the perimeter, so turning, mirroring and scaling
change nothing that is compared. Moments are sums over the edges (Green's theorem; geometry).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...model.arrays import Flags, Floats, Shapes

__all__ = ["Letters", "letters"]


_LEAST_SHARE, _MOST_SHARE = 0.004, 0.2
"""Radii of gyration that are looked at, as shares of the artwork's longest side."""


@dataclass(frozen=True, slots=True)
class Letters:
    """Pieces of one color that may be letters.

    Parameters
    ----------
    polygons : array of Polygon, shape (n,)
    center : float64 array of shape (n, 2)
        Centroids in mm.
    radius : float64 array of shape (n,)
        Radii of gyration in mm.
    stroke : float64 array of shape (n,)
        Twice the area by the perimeter, in mm.
    shape : float64 array of shape (n, 3)
        What letters differ in, without a unit: area by radius squared, how long, and openings.
    bent : bool array of shape (n,)
        Whether it has an opening or a bay, as all letters but I, l and 1 have, and leaves and dots have not.
    """

    polygons: Shapes
    center: Floats
    radius: Floats
    stroke: Floats
    shape: Floats
    bent: Flags

    def __len__(self) -> int:
        return len(self.radius)


_LEAST_BAY = 0.16
"""Share of its convex hull that a piece leaves free, from which on it is bent."""

_MOST_STROKE = 1.1
"""Strokes by radius of gyration: a disc has 1.41, a bar three times as long as wide .80."""


def letters(pieces: Sequence[shapely.Polygon], longest_mm: float) -> Letters:
    """Return what can be told of pieces, without those too small, too large or too stout for letters."""
    polygons = np.asarray(pieces, dtype=object)
    area, center, spread = _moments(polygons)
    radius = np.sqrt(np.trace(spread, axis1=1, axis2=2))
    stroke = 2 * area / shapely.length(polygons)
    kept = (radius >= _LEAST_SHARE * longest_mm) & (radius <= _MOST_SHARE * longest_mm)
    kept &= stroke <= _MOST_STROKE * radius
    polygons, area, center, spread = polygons[kept], area[kept], center[kept], spread[kept]
    radius, stroke = radius[kept], stroke[kept]
    long = np.sqrt(np.clip(np.linalg.eigvalsh(spread), 0, None))
    openings = shapely.get_num_interior_rings(polygons)
    shape = np.stack((area / radius**2, long[:, 0] / radius, openings), axis=1)
    hulls = shapely.area(shapely.convex_hull(polygons))
    bent = (openings > 0) | (area < (1 - _LEAST_BAY) * hulls)
    return Letters(polygons, center, radius, stroke, shape, bent)


def _moments(polygons: Shapes) -> tuple[Floats, Floats, Floats]:
    """Return areas, centroids and second moments about them by area, of shape (n, 2, 2)."""
    rings, owner = shapely.get_rings(polygons, return_index=True)
    outer = np.diff(owner, prepend=-1) > 0  # each polygon's first ring
    points, ring = shapely.get_coordinates(rings, return_index=True)
    middle = shapely.get_coordinates(shapely.centroid(polygons))
    local = points - middle[owner[ring]]
    inside = ring[:-1] == ring[1:]
    a, b, ring = local[:-1][inside], local[1:][inside], ring[:-1][inside]
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    signed = np.bincount(ring, weights=cross, minlength=len(rings))
    cross *= (np.where(outer, 1.0, -1.0) * np.sign(signed))[ring]
    count = len(polygons)

    def summed(terms: Floats) -> Floats:
        sums: Floats = np.bincount(owner[ring], weights=terms, minlength=count).astype(np.float64)
        return sums

    area = summed(cross) / 2
    spread = np.empty((count, 2, 2))
    for i, j in ((0, 0), (0, 1), (1, 1)):
        terms = 2 * (a[:, i] * a[:, j] + b[:, i] * b[:, j]) + a[:, i] * b[:, j] + b[:, i] * a[:, j]
        spread[:, i, j] = spread[:, j, i] = summed(cross * terms) / 24 / area
    return area, middle, spread
