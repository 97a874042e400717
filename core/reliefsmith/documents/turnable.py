"""The solids for the turnable view: coordinates on a coarse grid, small enough to travel in the sheet."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..chroma import to_hex
from ..model import Part

__all__ = ["MOST_TRIANGLES", "view_data"]

MOST_TRIANGLES = 60_000
"""More than these turn no longer smoothly on a small machine, and weigh more than the proof."""
STEPS = 65_535
"""Grid steps along the longest side: what 16 bits hold."""
COARSER = 2
MOST_POINTS = 65_535

Points = npt.NDArray[np.int64]
Faces = npt.NDArray[np.int64]


def view_data(parts: Sequence[Part]) -> str:
    """Write the parts as JSON: per part color, name, points as 16-bit integers, triangles as 16-bit indices.

    Points lie on a grid over the bounding cube, so that value / 65535 * `size` + `low` gives mm. Where there
    are more than `MOST_TRIANGLES` in all, points are moved to an ever coarser grid and what collapses is left
    out, until the rest is few enough.
    """
    low = np.min([part.vertices.min(axis=0) for part in parts], axis=0)
    size = float((np.max([part.vertices.max(axis=0) for part in parts], axis=0) - low).max())
    step, solids = 1, [_on_grid(part, low, size, 1) for part in parts]
    while (
        sum(len(faces) for _, faces in solids) > MOST_TRIANGLES
        or max(len(p) for p, _ in solids) > MOST_POINTS
    ):
        step *= COARSER
        solids = [_on_grid(part, low, size, step) for part in parts]
    entries = [
        {
            "name": part.name,
            "color": to_hex(part.color),
            "points": _packed(points),
            "faces": _packed(faces),
        }
        for part, (points, faces) in zip(parts, solids, strict=True)
    ]
    extent = {"size": round(size, 4), "low": [round(float(value), 4) for value in low]}
    return json.dumps({**extent, "parts": entries}, separators=(",", ":"), sort_keys=True)


def _on_grid(part: Part, low: npt.NDArray[np.float64], size: float, step: int) -> tuple[Points, Faces]:
    """Return a part's points on the grid, none twice, and the triangles that keep three different corners."""
    grid = np.rint((part.vertices - low) / size * STEPS).astype(np.int64)
    if step > 1:
        grid = np.minimum((grid + step // 2) // step * step, STEPS)
    points, where = np.unique(grid, axis=0, return_inverse=True)
    faces = where.reshape(-1)[part.triangles.astype(np.int64)]
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    return points, faces[(a != b) & (b != c) & (c != a)]


def _packed(values: npt.NDArray[np.int64]) -> str:
    return base64.b64encode(values.astype("<u2").tobytes()).decode("ascii")
