# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the core become objects, meshes and materials; the only module that makes Blender data of them.

Collections, objects and materials are found again by a custom property, never by name, and rewritten in
place: what the user did to them (visibility, modifiers, names) stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import bpy
import numpy as np

from reliefsmith.model import Part

_ROLE = "reliefsmith_role"
_PART = "reliefsmith_part"
_COLOR = "reliefsmith_color"
GENERATED, FINISH, JOB = "generated", "finish", "job"
_ROUGHNESS = 0.55


def collection(scene: bpy.types.Scene, role: str) -> bpy.types.Collection:
    """Return the scene's collection of a role; it is made where it is missing.

    `GENERATED` is rewritten by the add-on, `FINISH` is the user's and never touched; both stand in `JOB`.
    """
    found = find(scene, role)
    if found is not None:
        return found
    made = bpy.data.collections.new({JOB: "Relief", GENERATED: "Generated", FINISH: "Finish"}[role])
    made[_ROLE] = role
    parent = scene.collection if role == JOB else collection(scene, JOB)
    parent.children.link(made)
    return made


def find(scene: bpy.types.Scene, role: str) -> bpy.types.Collection | None:
    """Return the scene's collection of a role, or None."""
    for item in scene.collection.children_recursive:
        if item.get(_ROLE) == role:
            return item
    return None


def show(scene: bpy.types.Scene, parts: Sequence[Part]) -> list[bpy.types.Object]:
    """Bring parts into the scene's generated collection, one object each, in their order."""
    target = collection(scene, GENERATED)
    collection(scene, FINISH)
    old = {item[_PART]: item for item in target.objects if _PART in item}
    objects = [_object(target, old.pop(part.name, None), part) for part in parts]
    for left in old.values():
        mesh = left.data
        bpy.data.objects.remove(left)
        if mesh is not None and mesh.users == 0:
            bpy.data.meshes.remove(mesh)
    return objects


def _object(target: bpy.types.Collection, known: bpy.types.Object | None, part: Part) -> bpy.types.Object:
    """Return the object of a part, new or rewritten."""
    item = known
    if item is None:
        item = bpy.data.objects.new(part.name, bpy.data.meshes.new(part.name))
        item[_PART] = part.name
        target.objects.link(item)
    fill(item.data, part.vertices, part.triangles)
    material = _material(part.color)
    if not item.data.materials:
        item.data.materials.append(material)
    elif item.data.materials[0] != material:
        item.data.materials[0] = material
    item.color = (*_linear(part.color), 1.0)
    return item


def fill(mesh: bpy.types.Mesh, vertices: np.ndarray[Any, Any], triangles: np.ndarray[Any, Any]) -> None:
    """Write vertices (n, 3) and triangles (m, 3) into a mesh datablock in one call each."""
    mesh.clear_geometry()
    mesh.vertices.add(len(vertices))
    mesh.vertices.foreach_set("co", np.ascontiguousarray(vertices, np.float32).ravel())
    mesh.loops.add(triangles.size)
    mesh.loops.foreach_set("vertex_index", np.ascontiguousarray(triangles, np.int32).ravel())
    mesh.polygons.add(len(triangles))
    mesh.polygons.foreach_set("loop_start", np.arange(0, triangles.size, 3, dtype=np.int32))
    mesh.update(calc_edges=True)


def read(mesh: bpy.types.Mesh) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Return the vertices (n, 3) and triangles (m, 3) of a mesh."""
    mesh.calc_loop_triangles()
    vertices = np.empty(3 * len(mesh.vertices), np.float32)
    mesh.vertices.foreach_get("co", vertices)
    triangles = np.empty(3 * len(mesh.loop_triangles), np.int32)
    mesh.loop_triangles.foreach_get("vertices", triangles)
    return vertices.reshape(-1, 3), triangles.reshape(-1, 3)


def _material(color: tuple[int, int, int]) -> bpy.types.Material:
    """Return the material of a filament color, made once."""
    name = "#{:02x}{:02x}{:02x}".format(*color)
    for item in bpy.data.materials:
        if item.get(_COLOR) == name:
            return item
    made = bpy.data.materials.new(f"Filament {name}")
    made[_COLOR] = name
    if made.node_tree is None:
        made.use_nodes = True
    rgba = (*_linear(color), 1.0)
    made.diffuse_color = rgba
    made.roughness = _ROUGHNESS
    for node in made.node_tree.nodes:
        if node.type == "BSDF_PRINCIPLED":
            node.inputs["Base Color"].default_value = rgba
            node.inputs["Roughness"].default_value = _ROUGHNESS
    return made


def _linear(color: tuple[int, int, int]) -> tuple[float, float, float]:
    """Return sRGB bytes as scene linear (IEC 61966-2-1)."""
    low, high = np.asarray(color) / 255 / 12.92, ((np.asarray(color) / 255 + 0.055) / 1.055) ** 2.4
    r, g, b = np.where(np.asarray(color) / 255 <= 0.04045, low, high)
    return float(r), float(g), float(b)


def use_millimeters(scene: bpy.types.Scene) -> None:
    """Make one unit of the scene one millimeter."""
    scene.unit_settings.system = "METRIC"
    scene.unit_settings.scale_length = 0.001
    scene.unit_settings.length_unit = "MILLIMETERS"


def in_millimeters(scene: bpy.types.Scene) -> bool:
    """Return whether one unit of the scene is one millimeter."""
    return scene.unit_settings.system == "METRIC" and abs(scene.unit_settings.scale_length - 0.001) < 1e-9
