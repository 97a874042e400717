"""A surface of triangles, and one whose levels have no heights yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model.arrays import Floats, Ints, Points, Triangles, Vertices

__all__ = ["HEIGHT_DECIMALS", "Cast", "Mesh"]


HEIGHT_DECIMALS = 3
"""Heights of a shaped top are whole micrometers, as places are: equal heights are equal numbers."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """A surface of triangles.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
        In mm.
    triangles : int32 array of shape (m, 3)
        Counter-clockwise seen from outside.
    """

    vertices: Vertices
    triangles: Triangles


@dataclass(frozen=True, slots=True)
class Cast:
    """A solid whose levels have no heights yet: another height changes none of it.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
        Seen from above, in mm.
    level : int64 array of shape (n,)
        Which level each vertex belongs to, 0 for the lowest.
    rise : float64 array of shape (n,)
        How far above it, in mm.
    triangles : int32 array of shape (m, 3)
        Counter-clockwise seen from outside.
    """

    points: Points
    level: Ints
    rise: Floats
    triangles: Triangles

    def at(self, levels_mm: Sequence[float]) -> Mesh:
        """Return the solid with its levels at heights in mm."""
        z = np.asarray(levels_mm, dtype=np.float64)[self.level]
        raised = self.rise != 0
        z[raised] = (z[raised] + self.rise[raised]).round(HEIGHT_DECIMALS)
        return Mesh(np.column_stack([self.points, z]), self.triangles)
