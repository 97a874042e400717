"""Write binary STL: one part, millimetres, outward normals."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..model.parts import Part

__all__ = ["FACET", "HEADER_BYTES", "stl_bytes"]

HEADER_BYTES = 80
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One facet of 50 bytes, as published with the format in 1989: normal, three corners, an attribute of 0."""


def stl_bytes(part: Part) -> bytes:
    """Write one part as binary STL in mm.

    The header names the part; it does not begin with "solid", which would announce the text form.

    Raises
    ------
    GeometryError
        If the part has no triangles or a coordinate is not finite.

    Examples
    --------
    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]], dtype=np.int32)
    >>> len(stl_bytes(Part("base", "base", (0, 0, 0), corners, faces)))
    284
    """
    if not len(part.triangles) or not np.isfinite(part.vertices).all():
        raise GeometryError(f"part {part.name} is empty or has coordinates that are not numbers")
    corners = part.vertices[part.triangles]
    facets = np.zeros(len(part.triangles), dtype=FACET)
    facets["normal"] = _unit_normals(corners)
    facets["corners"] = corners
    name = part.name.encode("ascii", "replace")
    header = (b"binary STL in millimeters: " + name)[:HEADER_BYTES].ljust(HEADER_BYTES, b" ")
    return header + len(facets).to_bytes(4, "little") + facets.tobytes()


def _unit_normals(corners: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return outward unit normals (m, 3); zero for a triangle without area, as readers expect."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.sqrt((normals * normals).sum(axis=1, keepdims=True))
    unit: npt.NDArray[np.float64] = np.divide(normals, length, out=np.zeros_like(normals), where=length > 0)
    return unit
