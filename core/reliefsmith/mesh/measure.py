"""Measures of triangle meshes."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Triangles, Vertices

__all__ = ["box", "signed_volume"]


def signed_volume(vertices: Vertices, triangles: Triangles) -> float:
    """Return the volume in mm3 by the divergence theorem; negative for a solid turned inside out.

    The sum runs over tetrahedra from the first vertex, so a far origin loses no digits.
    """
    if len(triangles) == 0:
        return 0.0
    moved = vertices - vertices[0]
    a, b, c = (moved[triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def box(vertices: Vertices) -> tuple[Vertices, Vertices]:
    """Return the least and greatest corner of the vertices' bounding box."""
    return vertices.min(axis=0), vertices.max(axis=0)
