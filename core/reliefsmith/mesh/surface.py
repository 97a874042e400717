"""A surface of triangles, and the merging of equal vertices that file readers do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.arrays import Triangles, Vertices

__all__ = ["HEIGHT_DECIMALS", "Heights", "Mesh", "merged_vertices"]

Heights = npt.NDArray[np.float64]
"""Heights (n,) in mm, or places (n, 2) in mm where they are asked for."""

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
