"""Turn meshes as read into parts: names unique, colors known, one of them the base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import Color, Triangles, Vertices
from ..model.parts import Part
from .bounds import MAX_COORDINATE_MM, MAX_NAME_CHARS, MAX_TRIANGLES, BadFileError
from .decimals import ON_GRID_UM, UM_PER_MM, snapped_mm
from .stems import printable

__all__ = ["ReadMesh", "as_parts", "merged"]

UNCOLORED: Color = (128, 128, 128)
"""Stands for a part whose file gives no color: middle grey."""
SINGLE_PRECISION = 2.0**-24
"""Relative rounding error of a 32-bit float."""
MOST_NOISE_UM = 0.1
"""Vertices on a 1 um grid stay apart when each is moved by this much at most."""
SAME_BOTTOM_MM = 1e-6
"""Bottoms closer than this are the same level; far below the 1 um grid."""


@dataclass(frozen=True, slots=True)
class ReadMesh:
    """One mesh of a file, in mm."""

    name: str
    color: Color | None
    vertices: Vertices
    triangles: Triangles


def merged(name: str, corners: npt.NDArray[np.float64], color: Color | None = None) -> ReadMesh:
    """Merge equal corners (m, 3, 3) into vertices; triangles that touch themselves are left out.

    Raises
    ------
    BadFileError
        If there are none or too many, or a coordinate is no usable number.
    """
    points = corners.reshape(-1, 3) + 0.0  # -0.0 is 0.0
    if not len(points) or not (np.abs(points) <= MAX_COORDINATE_MM).all():
        raise BadFileError("it has no triangles, or a coordinate that is no usable number")
    if len(corners) > MAX_TRIANGLES:
        raise BadFileError(f"it has more than {MAX_TRIANGLES} triangles; export fewer")
    order = np.lexsort(points.T[::-1])
    ranked = points[order]
    fresh = np.concatenate([[True], (ranked[1:] != ranked[:-1]).any(axis=1)])
    index = np.empty(len(points), dtype=np.int32)
    index[order] = (np.cumsum(fresh) - 1).astype(np.int32)
    a, b, c = index.reshape(-1, 3).T
    whole = (a != b) & (b != c) & (c != a)
    if not whole.any():
        raise BadFileError("its triangles have no area; export it again")
    vertices = ranked[fresh]
    noise_um = float(np.abs(vertices).max()) * SINGLE_PRECISION * UM_PER_MM
    snapped = snapped_mm(vertices, max(ON_GRID_UM, min(noise_um, MOST_NOISE_UM)))
    return ReadMesh(name, color, vertices if snapped is None else snapped, index.reshape(-1, 3)[whole])


def as_parts(meshes: Sequence[ReadMesh], stem: str) -> tuple[Part, ...]:
    """Give each mesh a unique name and a role.

    The base is the part of that name, else the one that stands lowest; of several there, the one that
    covers the largest box.

    Raises
    ------
    BadFileError
        If there is no mesh.
    """
    if not meshes:
        raise BadFileError("it holds no solid to build; export the parts again")
    names = _unique([mesh.name for mesh in meshes], stem)
    base = names.index("base") if "base" in names else _lowest(meshes)
    return tuple(
        Part(
            name, "base" if index == base else "motif", mesh.color or UNCOLORED, mesh.vertices, mesh.triangles
        )
        for index, (name, mesh) in enumerate(zip(names, meshes, strict=True))
    )


def _unique(names: Sequence[str], stem: str) -> list[str]:
    taken: dict[str, int] = {}
    result: list[str] = []
    for name in names:
        plain = printable(" ".join(name.split())[:MAX_NAME_CHARS] or stem)
        candidate = plain
        while candidate in taken:
            taken[plain] += 1
            candidate = f"{plain}-{taken[plain]}"
        taken[candidate] = 1
        result.append(candidate)
    return result


def _lowest(meshes: Sequence[ReadMesh]) -> int:
    bottoms = np.array([mesh.vertices[:, 2].min() for mesh in meshes])
    spans = np.array([np.prod(np.ptp(mesh.vertices[:, :2], axis=0)) for mesh in meshes])
    return int(np.argmax(np.where(bottoms <= bottoms.min() + SAME_BOTTOM_MM, spans, -1.0)))
