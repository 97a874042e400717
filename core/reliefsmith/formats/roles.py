"""Turn meshes as read into parts: names unique, colors known, one of them the base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model.arrays import Color, Triangles, Vertices
from ..model.parts import Part
from .limits import MAX_NAME_CHARS, BadFileError
from .stems import printable

__all__ = ["ReadMesh", "as_parts"]

UNCOLORED: Color = (128, 128, 128)
"""Stands for a part whose file gives no color: middle grey."""
SAME_BOTTOM_MM = 1e-6
"""Bottoms closer than this are the same level; far below the 1 um grid."""


@dataclass(frozen=True, slots=True)
class ReadMesh:
    """One mesh of a file, in mm."""

    name: str
    color: Color | None
    vertices: Vertices
    triangles: Triangles


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
