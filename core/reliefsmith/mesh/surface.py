"""A surface of triangles, and the merging of equal vertices that file readers do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.arrays import Floats, Ints, Points, Triangles, Vertices

__all__ = ["HEIGHT_DECIMALS", "Cast", "Mesh", "merged_vertices"]


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


def merged_vertices(mesh: Mesh, dtype: npt.DTypeLike = np.float32) -> Mesh:
    """Return the mesh with vertices merged that are equal in a given precision.

    Binary STL stores single precision, and its readers find shared vertices by equal coordinates.

    Examples
    --------
    >>> corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0], [0, 1, 0], [0, 0, 1.0]])
    >>> merged_vertices(Mesh(corners, np.arange(6, dtype=np.int32).reshape(2, 3))).triangles.tolist()
    [[0, 3, 2], [0, 2, 1]]
    """
    stored: npt.NDArray[Any] = (mesh.vertices + 0.0).astype(dtype)  # -0.0 becomes 0.0
    order = np.lexsort(stored.T[::-1])
    ranked = stored[order]
    fresh = np.concatenate([[True], (ranked[1:] != ranked[:-1]).any(axis=1)])
    index = np.empty(len(stored), dtype=np.int32)
    index[order] = np.cumsum(fresh) - 1
    return Mesh(ranked[fresh].astype(np.float64), index[mesh.triangles])
