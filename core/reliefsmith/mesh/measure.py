"""Measures of triangle meshes: volume, surface, box, the shape of the worst triangle."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Triangles, Vertices

__all__ = ["box", "signed_volume", "surface_area", "worst_aspect"]


def signed_volume(vertices: Vertices, triangles: Triangles) -> float:
    """Return the volume in mm3 by the divergence theorem; negative for a solid turned inside out.

    The sum runs over tetrahedra from the first vertex, so a far origin loses no digits.

    Examples
    --------
    >>> corner = np.array([[0, 0, 0], [3, 0, 0], [0, 3, 0], [0, 0, 3.0]])
    >>> signed_volume(corner, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]))
    4.5
    """
    if len(triangles) == 0:
        return 0.0
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (
        corner.T for corner in _corners(vertices - vertices[0], triangles)
    )
    # The cross product written out: the library's takes several times as long.
    terms = np.empty((len(triangles), 3))
    terms[:, 0] = ax * (by * cz - bz * cy)
    terms[:, 1] = ay * (bz * cx - bx * cz)
    terms[:, 2] = az * (bx * cy - by * cx)
    return float(terms.sum() / 6)


def surface_area(vertices: Vertices, triangles: Triangles) -> float:
    """Return the area of all triangles in mm2.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> mesh = prism(shapely.box(0, 0, 3, 2), 0.0, 1.0)
    >>> round(surface_area(mesh.vertices, mesh.triangles), 6)
    22.0
    """
    a, b, c = _corners(vertices, triangles)
    return float(np.sqrt((np.cross(b - a, c - a) ** 2).sum(axis=1)).sum() / 2)


def worst_aspect(vertices: Vertices, triangles: Triangles) -> float:
    """Return the largest ratio of a triangle's longest side to its height over that side.

    An equilateral triangle has 1.15; a sliver has thousands; a triangle without area is infinite.

    Examples
    --------
    >>> worst_aspect(np.array([[0, 0, 0], [4, 0, 0], [2, 1, 0.0]]), np.array([[0, 1, 2]]))
    4.0
    """
    a, b, c = _corners(vertices, triangles)
    doubled = np.sqrt((np.cross(b - a, c - a) ** 2).sum(axis=1))
    longest = np.maximum(np.maximum(((b - a) ** 2).sum(1), ((c - b) ** 2).sum(1)), ((a - c) ** 2).sum(1))
    with np.errstate(divide="ignore"):
        return float((longest / doubled).max())


def box(vertices: Vertices) -> tuple[Vertices, Vertices]:
    """Return the least and greatest corner of the vertices' bounding box.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> mesh = prism(shapely.box(0, 0, 3, 2), 0.0, 0.6)
    >>> [corner.tolist() for corner in box(mesh.vertices)]
    [[0.0, 0.0, 0.0], [3.0, 2.0, 0.6]]
    """
    return vertices.min(axis=0), vertices.max(axis=0)


def _corners(vertices: Vertices, triangles: Triangles) -> tuple[Vertices, Vertices, Vertices]:
    return vertices[triangles[:, 0]], vertices[triangles[:, 1]], vertices[triangles[:, 2]]
