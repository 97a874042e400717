"""Hand relief for tests: 60 bumps and a wave as a closed form, and the heights of finished parts by place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from reliefsmith import HandRelief
from reliefsmith.model import Part

Heights = np.ndarray[tuple[int], np.dtype[np.float64]]


class Bumps:
    """60 bumps up and down, 0.6 to 2 mm wide, and a wave of 2.5 mm; carved nowhere if only up."""

    def __init__(self, width_mm: float, height_mm: float, *, seed: int = 7, up: bool = False) -> None:
        drawn = np.random.default_rng(seed)
        half = np.array([width_mm, height_mm]) * 0.48
        self.width_mm, self.height_mm = width_mm, height_mm
        self.centers = drawn.uniform(-half, half, (60, 2))
        self.radii = drawn.uniform(0.6, 2.0, 60)
        self.rises = drawn.uniform(0.0 if up else -0.15, 0.3, 60)
        self.lift = 0.05 if up else 0.0

    def at(self, places: np.ndarray) -> Heights:
        """Heights (n,) in mm at places (n, 2)."""
        found = self.lift + 0.05 * np.sin(2 * np.pi * places[:, 0] / 2.5)
        for center, radius, rise in zip(self.centers, self.radii, self.rises, strict=True):
            found += rise * np.exp(-((places - center) ** 2).sum(axis=1) / radius**2)
        return found

    def relief(self, step_mm: float = 0.1) -> HandRelief:
        """The field as a hand would have it stored, to the edges of the artwork."""
        x = np.arange(-self.width_mm / 2, self.width_mm / 2 + step_mm, step_mm)
        y = np.arange(self.height_mm / 2, -self.height_mm / 2 - step_mm, -step_mm)
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        values = self.at(grid).reshape(len(y), len(x)).astype(np.float32)
        wide = self.width_mm
        return HandRelief(values, (float(x[0]) / wide, float(y[0]) / wide), step_mm / wide)


def tops_at(parts: Sequence[Part], places: np.ndarray) -> Heights:
    """Height of the highest upward triangle above each place (n, 2); NaN beside the piece."""
    corners = np.concatenate([part.vertices[part.triangles] for part in parts])
    a, b, c = (corners[:, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    up = normal[:, 2] > 1e-12
    up[up] = _may_hold(corners[up, :, :2], places)
    corners, normal = corners[up], normal[up]
    tree = shapely.STRtree(shapely.polygons(corners[:, :, :2]))
    place, own = tree.query(shapely.points(places), predicate="intersects")
    offset = places[place] - corners[own, 0, :2]
    z = corners[own, 0, 2] - (offset * normal[own, :2]).sum(axis=1) / normal[own, 2]
    found = np.full(len(places), -np.inf)
    np.maximum.at(found, place, z)
    return np.where(np.isinf(found), np.nan, found)


def _may_hold(triangles: np.ndarray, places: np.ndarray, cell_mm: float = 0.05) -> np.ndarray:
    """Return which triangles (n, 3, 2) have a place in the cells of a grid that they reach into."""
    origin = np.minimum(triangles.min(axis=(0, 1)), places.min(axis=0))
    column, row = ((places - origin) // cell_mm).astype(int).T
    low = ((triangles.min(axis=1) - origin) // cell_mm).astype(int)
    high = ((triangles.max(axis=1) - origin) // cell_mm).astype(int) + 1
    size = np.maximum(high.max(axis=0), (column.max() + 1, row.max() + 1)) + 1
    before = np.zeros(size, int)  # how many places lie left of and below each corner of a cell
    np.add.at(before, (column + 1, row + 1), 1)
    before = before.cumsum(axis=0).cumsum(axis=1)
    (left, bottom), (right, top) = low.T, high.T
    return before[right, top] - before[left, top] - before[right, bottom] + before[left, bottom] > 0
