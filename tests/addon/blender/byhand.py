"""A part as an artist finds and changes it, for tests of what becomes of hand work."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

DENT_MM = 0.377


def place(role: str) -> Any:
    return next(item for item in bpy.data.collections if item.get("reliefsmith_role") == role)


def part(name: str) -> Any:
    owner = place("generated")
    found = [item for item in owner.objects if item.get("reliefsmith_part") == name]
    return owner.get(f"reliefsmith_part {name}", found[0] if found else None)


def motif() -> str:
    return next(item.name for item in bpy.context.scene.reliefsmith.parts if item.role == "motif")


def sculpt(item: Any) -> Any:
    """Raise the highest vertices, as a brush does; returns the places."""
    top = max(vertex.co.z for vertex in item.data.vertices)
    for vertex in item.data.vertices:
        if vertex.co.z == top:
            vertex.co.z += DENT_MM
    return places(item)


def places(item: Any) -> Any:
    return np.array([vertex.co[:] for vertex in item.data.vertices], np.float32)


def kept(shape: Any) -> list[Any]:
    """The visible objects that still have this shape."""
    found = [item for item in bpy.context.scene.objects if item.type == "MESH" and item.visible_get()]
    return [item for item in found if np.array_equal(places(item), shape)]
