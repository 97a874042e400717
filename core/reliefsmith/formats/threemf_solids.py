"""From a 3MF scene to meshes in mm: checks of one mesh, transforms, the color that it shows."""

from __future__ import annotations

from collections import Counter
from itertools import chain

import numpy as np

from ..model.arrays import Color
from .bounds import MAX_COORDINATE_MM, BadFileError
from .decimals import ON_GRID_UM, snapped_mm
from .roles import ReadMesh
from .threemf_grammar import LEAST_TRIANGLES
from .threemf_scene import Instance, Object, determinant

__all__ = ["check_mesh", "read_mesh"]


def check_mesh(one: Object) -> None:
    """Check one mesh by the rules of Core 4.1 that do not need its shape."""
    points = np.frombuffer(one.coordinates, dtype=np.float64)
    corners = np.frombuffer(one.corners, dtype=np.int64).reshape(-1, 3)
    if not (np.abs(points) <= MAX_COORDINATE_MM / one.scene.scale).all():
        raise BadFileError(f"object {one.key} has a coordinate that is no usable number; export it again")
    if len(corners) < (LEAST_TRIANGLES if one.kind in ("model", "solidsupport") else 1):
        raise BadFileError(f"object {one.key} has too few triangles to enclose anything; export it again")
    if corners.min() < 0 or corners.max() >= len(points) // 3:
        raise BadFileError(f"a triangle of object {one.key} has a corner that does not exist")
    a, b, c = corners.T
    if ((a == b) | (b == c) | (c == a)).any():
        raise BadFileError(f"a triangle of object {one.key} has two equal corners; export it again")
    for key in one.painted:
        one.scene.color(key)


def read_mesh(one: Instance) -> ReadMesh:
    """Place one mesh in the build, in mm.

    Raises
    ------
    BadFileError
        If the object is not to be built, or a transform moves it out of reach.
    """
    if one.mesh.kind == "other":
        raise BadFileError("its build has an object of type other, which is not to be built (Core 3.4.3.1)")
    x, y, z = np.frombuffer(one.mesh.coordinates, dtype=np.float64).reshape(-1, 3).T[:, :, None]
    rows = one.matrix
    points = (x * rows[0] + y * rows[1] + z * rows[2] + rows[3]) * one.mesh.scene.scale
    if not (np.abs(points) <= MAX_COORDINATE_MM).all():
        raise BadFileError("a transform moves a part out of reach; export it again")
    snapped = snapped_mm(points, ON_GRID_UM)
    triangles = np.frombuffer(one.mesh.corners, dtype=np.int64).reshape(-1, 3).astype(np.int32)
    if determinant(rows) < 0:  # a mirrored shape keeps the sign of its volume (Core 3.3)
        triangles = triangles[:, ::-1].copy()
    return ReadMesh(one.name, _shown(one.mesh), points if snapped is None else snapped, triangles)


def _shown(mesh: Object) -> Color | None:
    """Return the color that most triangles show: their own, else that of the object."""
    plain = len(mesh.corners) // 3 - mesh.painted.total()
    default = [(mesh.default, plain)] if mesh.default is not None and plain else []
    shares: Counter[Color] = Counter()
    for key, count in chain(default, mesh.painted.items()):
        color = mesh.scene.color(key)
        if color is not None:
            shares[color] += count
    return min(shares, key=lambda color: (-shares[color], color), default=None)
