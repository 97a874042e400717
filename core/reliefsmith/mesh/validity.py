"""Whether a mesh is a closed solid: every edge used once each way, no equal vertices, outside outward."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Triangles, Vertices
from .measure import signed_volume

__all__ = ["MeshFaults", "mesh_faults"]


@dataclass(frozen=True, slots=True)
class MeshFaults:
    """What keeps a mesh from being a closed solid; all zero and a positive volume for a sound one.

    Parameters
    ----------
    open_edges : int
        Directed edges whose opposite is missing.
    doubled_edges : int
        Directed edges used more than once.
    flat_triangles : int
        Triangles that name a vertex twice.
    equal_vertices : int
        Vertices at the place of another one.
    volume_mm3 : float
        Signed volume.
    """

    open_edges: int
    doubled_edges: int
    flat_triangles: int
    equal_vertices: int
    volume_mm3: float

    @property
    def sound(self) -> bool:
        """Whether the mesh is a closed solid, outside outward, no vertices equal."""
        return self.volume_mm3 > 0 and not (
            self.open_edges or self.doubled_edges or self.flat_triangles or self.equal_vertices
        )


def mesh_faults(vertices: Vertices, triangles: Triangles) -> MeshFaults:
    """Count the faults of a mesh.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
    triangles : int32 array of shape (m, 3)
    """
    wide = triangles.astype(np.int64)
    a = np.concatenate([wide[:, 0], wide[:, 1], wide[:, 2]])
    b = np.concatenate([wide[:, 1], wide[:, 2], wide[:, 0]])
    n = max(1, len(vertices))
    forward, counts = np.unique(a * n + b, return_counts=True)
    open_edges = len(np.setdiff1d(forward, b * n + a, assume_unique=False))
    flat = int(((wide[:, 0] == wide[:, 1]) | (wide[:, 1] == wide[:, 2]) | (wide[:, 2] == wide[:, 0])).sum())
    equal = len(vertices) - len(np.unique(vertices, axis=0))
    volume = signed_volume(vertices, triangles)
    return MeshFaults(open_edges, int((counts > 1).sum()), flat, equal, volume)
