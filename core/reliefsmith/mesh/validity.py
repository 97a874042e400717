"""Whether a mesh is a closed solid: every edge used once each way, no equal vertices, outside outward."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np

from ..model.arrays import Ints, Triangles, Vertices
from ..polygons.groups import joined, repeated_rows
from .measure import signed_volume

__all__ = ["MeshFaults", "mesh_faults", "mesh_pieces"]

_KEPT = 64
"""Meshes whose faults are remembered, without the meshes: texts on one artwork share most of them."""


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
    def closed(self) -> bool:
        """Whether every edge is used once each way."""
        return not (self.open_edges or self.doubled_edges)

    @property
    def sound(self) -> bool:
        """Whether the mesh is a closed solid, outside outward, no vertices equal."""
        return self.volume_mm3 > 0 and not (
            self.open_edges or self.doubled_edges or self.flat_triangles or self.equal_vertices
        )


_known: dict[bytes, MeshFaults] = {}


def mesh_faults(vertices: Vertices, triangles: Triangles) -> MeshFaults:
    """Count the faults of a mesh; those of the last meshes are known again by their content.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
    triangles : int32 array of shape (m, 3)

    Examples
    --------
    >>> corner = np.array([[0, 0, 0], [3, 0, 0], [0, 3, 0], [0, 0, 3.0]])
    >>> mesh_faults(corner, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])).sound
    True
    """
    content = (f"{len(vertices)} ".encode(), vertices.tobytes(), triangles.tobytes())
    key = hashlib.blake2b(b"".join(content), digest_size=16).digest()
    if key not in _known:
        while len(_known) >= _KEPT:
            del _known[next(iter(_known))]
        _known[key] = _counted(vertices, triangles)
    return _known[key]


def _counted(vertices: Vertices, triangles: Triangles) -> MeshFaults:
    wide = triangles.astype(np.int64)
    a, b, c = wide.T
    start, end = np.concatenate([a, b, c]), np.concatenate([b, c, a])
    n = max(1, len(vertices))
    forward, backward = np.sort(start * n + end), np.sort(end * n + start)
    doubled = int((forward[1:] == forward[:-1]).sum())
    open_edges = 0 if np.array_equal(forward, backward) else len(np.setdiff1d(forward, backward))
    flat = int(((a == b) | (b == c) | (c == a)).sum())
    return MeshFaults(
        open_edges, doubled, flat, len(repeated_rows(vertices)), signed_volume(vertices, triangles)
    )


def mesh_pieces(count: int, triangles: Triangles) -> tuple[int, Ints]:
    """Return the number of pieces of a mesh, and the piece of each triangle.

    Parameters
    ----------
    count : int
        Number of vertices; every one is used.
    triangles : int32 array of shape (m, 3)

    Examples
    --------
    >>> count, piece = mesh_pieces(6, np.array([[0, 1, 2], [3, 4, 5]], dtype=np.int32))
    >>> count, piece.tolist()
    (2, [0, 1])
    """
    a, b, c = triangles.astype(np.int64).T
    pieces, of_vertex = joined(count, np.concatenate([a, b]), np.concatenate([b, c]))
    return pieces, of_vertex[a]
