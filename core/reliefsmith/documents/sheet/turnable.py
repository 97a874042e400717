"""The solids for the turnable view: coordinates on a coarse grid, small enough to travel in the sheet."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ...colorimetry import to_hex
from ...model import Part, Stack

__all__ = ["MOST_TRIANGLES", "as_held", "view_data"]

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


def as_held(parts: Sequence[Part], stack: Stack) -> tuple[Part, ...]:
    """Return parts as the finished piece has them, front up: turned over, two plates set together."""
    size, back = stack.piece_size_mm, stack.back_at_mm
    if size is None:
        return tuple(parts)
    beside = () if back is None else stack.jobs[-1]
    held = []
    for part in parts:
        if back is not None and part.name in beside:
            points = part.vertices - np.array([*back, 0.0])
        else:  # half a turn about the y axis
            points = np.array([0.0, 0.0, size[2]]) + part.vertices * np.array([-1.0, 1.0, -1.0])
        held.append(replace(part, vertices=points))
    return tuple(held)


def _on_grid(part: Part, low: npt.NDArray[np.float64], size: float, step: int) -> tuple[Points, Faces]:
    """Return a part's points on the grid, none twice, and the triangles that keep three different corners."""
    grid = np.rint((part.vertices - low) / size * STEPS).astype(np.int64)
    if step > 1:
        grid = np.minimum((grid + step // 2) // step * step, STEPS)
    # One number for each point, in the order of its coordinates: far quicker to sort than rows.
    keys, where = np.unique((grid[:, 0] << 32) | (grid[:, 1] << 16) | grid[:, 2], return_inverse=True)
    points = np.column_stack([keys >> 32, (keys >> 16) & STEPS, keys & STEPS])
    faces = where.reshape(-1)[part.triangles.astype(np.int64)]
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    return points, faces[(a != b) & (b != c) & (c != a)]


def _packed(values: npt.NDArray[np.int64]) -> str:
    return base64.b64encode(values.astype("<u2").tobytes()).decode("ascii")
