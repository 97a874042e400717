# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the core become objects, meshes and materials; the only module that makes Blender data of them.

Collections, objects and materials are found again by a custom property, never by name, and rewritten in
place: what the user did to them (visibility, modifiers, names) stays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import bpy
import numpy as np
from bpy_extras import view3d_utils
from mathutils import Vector, geometry

from reliefsmith.errors import RecipeError
from reliefsmith.model import Part

_ROLE = "reliefsmith_role"
_PART = "reliefsmith_part"
_COLOR = "reliefsmith_color"
GENERATED, FINISH, JOB, STAGE = "generated", "finish", "job", "stage"
_TITLES = {JOB: "Relief", GENERATED: "Generated", FINISH: "Finish", STAGE: "Turntable"}
_ROUGHNESS = {"matte": 0.75, "gloss": 0.25, "silk": 0.35, "clear": 0.15}  # by finish, judged by eye
_PLAIN = "matte"
_ABOVE_MM = 1000.0  # higher than any piece


def collection(scene: bpy.types.Scene, role: str) -> bpy.types.Collection:
    """Return the scene's collection of a role; it is made where it is missing.

    `GENERATED` is rewritten by the add-on, `FINISH` is the user's and never touched, `STAGE` holds camera
    and lights; they stand in `JOB`.
    """
    found = find(scene, role)
    if found is not None:
        return found
    made = bpy.data.collections.new(_TITLES[role])
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


def show(
    scene: bpy.types.Scene, parts: Sequence[Part], finishes: Mapping[str, str] | None = None
) -> list[bpy.types.Object]:
    """Bring parts into the scene's generated collection, one object each, in their order.

    `finishes` gives the finish of a part's filament by the part's name, where it is known.
    """
    target = collection(scene, GENERATED)
    collection(scene, FINISH)
    old = part_objects(scene)
    finishes = finishes or {}
    objects = [
        _object(target, old.pop(part.name, None), part, finishes.get(part.name, _PLAIN)) for part in parts
    ]
    for left in old.values():
        mesh = left.data
        bpy.data.objects.remove(left)
        if mesh is not None and mesh.users == 0:
            bpy.data.meshes.remove(mesh)
    return objects


def part_objects(scene: bpy.types.Scene) -> dict[str, bpy.types.Object]:
    """Return the generated objects by the names of their parts."""
    target = find(scene, GENERATED)
    return {} if target is None else {item[_PART]: item for item in target.objects if _PART in item}


def piece(scene: bpy.types.Scene, layer: bpy.types.ViewLayer) -> list[Part]:
    """Return the piece as it stands in the scene: what is selected, else what is seen of it.

    A mesh in `FINISH` stands in place of the generated part that it is a copy of.

    Raises
    ------
    RecipeError
        If there is no mesh.
    """
    layer.update()
    objects = [item for item in layer.objects.selected if item.type == "MESH"] or _seen(scene, layer)
    if not objects:
        raise RecipeError("there is no piece to take; select the objects of one piece")
    return parts_of(objects, layer.depsgraph)


def _seen(scene: bpy.types.Scene, layer: bpy.types.ViewLayer) -> list[bpy.types.Object]:
    """Return the visible meshes of the user's and the visible generated ones that those do not replace."""
    place = find(scene, FINISH)
    own = [item for item in place.all_objects if item.type == "MESH"] if place else []
    own = [item for item in own if item.visible_get(view_layer=layer)]
    replaced = {item.get(_PART) for item in own}
    made = [item for name, item in part_objects(scene).items() if name not in replaced]
    return [item for item in made if item.visible_get(view_layer=layer)] + own


def changed(scene: bpy.types.Scene, layer: bpy.types.ViewLayer, parts: Sequence[Part]) -> list[str]:
    """Return the names of the parts whose objects are not what was made, or are gone."""
    layer.update()
    found = {part.name: part for part in parts_of(list(part_objects(scene).values()), layer.depsgraph)}
    return [part.name for part in parts if not _same(part, found.get(part.name))]


def _same(made: Part, now: Part | None) -> bool:
    return (
        now is not None
        and np.array_equal(made.vertices.astype(np.float32), now.vertices.astype(np.float32))
        and np.array_equal(made.triangles, now.triangles)
    )


def part_at(
    scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph, place: Sequence[float]
) -> bpy.types.Object | None:
    """Return the generated object that is met first from above at a place, or None."""
    above = Vector((place[0], place[1], _ABOVE_MM))
    hit, _, _, _, item, _ = scene.ray_cast(depsgraph, above, Vector((0, 0, -1)))
    return item if hit and _PART in item else None


def select(layer: bpy.types.ViewLayer, item: bpy.types.Object) -> None:
    """Select one object, and nothing else."""
    for other in list(layer.objects.selected):
        other.select_set(False, view_layer=layer)
    item.hide_set(False, view_layer=layer)
    item.select_set(True, view_layer=layer)
    layer.objects.active = item


def parts_of(objects: Sequence[bpy.types.Object], depsgraph: bpy.types.Depsgraph) -> list[Part]:
    """Return mesh objects as the core's parts, as they stand in the scene, modifiers applied.

    One made by the add-on is the part that it is; of others the first is the base, if none is.
    """
    parts = []
    for item in objects:
        seen = item.evaluated_get(depsgraph)
        mesh = seen.to_mesh()
        mesh.transform(item.matrix_world)
        vertices, triangles = read(mesh)
        seen.to_mesh_clear()
        name = item.get(_PART, item.name)
        role = "base" if name == "base" else "motif"
        color = tuple(round(255 * value) for value in srgb(item.color[:3]))
        parts.append(Part(name, role, color, vertices.astype(np.float64), triangles))
    if parts and all(part.role != "base" for part in parts):
        parts[0] = replace(parts[0], role="base")
    return parts


def under(context: bpy.types.Context, x: int, y: int) -> tuple[str, tuple[float, float]] | None:
    """Return the part under a place of the window and where it is met; off the parts "" and the bed there.

    None outside the 3D view, or where it looks along the bed.
    """
    region = next(item for item in context.area.regions if item.type == "WINDOW")
    at = (x - region.x, y - region.y)
    covered = [item for item in context.area.regions if item.type in ("UI", "TOOLS", "HEADER")]
    if any(0 <= x - item.x < item.width and 0 <= y - item.y < item.height for item in covered):
        return None
    if not (0 <= at[0] < region.width and 0 <= at[1] < region.height):
        return None
    view = context.space_data.region_3d
    origin = view3d_utils.region_2d_to_origin_3d(region, view, at)
    ray = view3d_utils.region_2d_to_vector_3d(region, view, at)
    hit, place, _, _, item, _ = context.scene.ray_cast(context.evaluated_depsgraph_get(), origin, ray)
    if hit and _PART in item:
        local = item.matrix_world.inverted() @ place
        return item[_PART], (local.x, local.y)
    bed = geometry.intersect_line_plane(origin, origin + ray, Vector((0, 0, 0)), Vector((0, 0, 1)))
    return None if bed is None else ("", (bed.x, bed.y))


def _object(
    target: bpy.types.Collection, known: bpy.types.Object | None, part: Part, finish: str
) -> bpy.types.Object:
    """Return the object of a part, new or rewritten."""
    item = known
    if item is None:
        item = bpy.data.objects.new(part.name, bpy.data.meshes.new(part.name))
        item[_PART] = part.name
        target.objects.link(item)
    fill(item.data, part.vertices, part.triangles)
    material = _material(part.color, finish)
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


def _material(color: tuple[int, int, int], finish: str) -> bpy.types.Material:
    """Return the material of a filament color and finish, made once."""
    name = "#{:02x}{:02x}{:02x} {}".format(*color, finish)
    for item in bpy.data.materials:
        if item.get(_COLOR) == name:
            return item
    made = bpy.data.materials.new(f"Filament {name}")
    made[_COLOR] = name
    if made.node_tree is None:
        made.use_nodes = True
    rgba = (*_linear(color), 1.0)
    made.diffuse_color = rgba
    made.roughness = _ROUGHNESS[finish]
    for node in made.node_tree.nodes:
        if node.type == "BSDF_PRINCIPLED":
            node.inputs["Base Color"].default_value = rgba
            node.inputs["Roughness"].default_value = _ROUGHNESS[finish]
    return made


def srgb(linear: Sequence[float]) -> list[float]:
    """Return scene linear values as sRGB, 0 to 1 (IEC 61966-2-1)."""
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in linear]


def _linear(color: tuple[int, int, int]) -> tuple[float, float, float]:
    """Return sRGB bytes as scene linear (IEC 61966-2-1)."""
    low, high = np.asarray(color) / 255 / 12.92, ((np.asarray(color) / 255 + 0.055) / 1.055) ** 2.4
    r, g, b = np.where(np.asarray(color) / 255 <= 0.04045, low, high)
    return float(r), float(g), float(b)


def image(path: str) -> bpy.types.Image | None:
    """Return a picture file as an image with a thumbnail, or None for a kind that Blender does not read."""
    try:
        found = bpy.data.images.load(path, check_existing=True)
    except RuntimeError:
        return None
    if not found.size[0]:
        bpy.data.images.remove(found)
        return None
    found.preview_ensure()
    return found


def use_millimeters(scene: bpy.types.Scene) -> None:
    """Make one unit of the scene one millimeter."""
    scene.unit_settings.system = "METRIC"
    scene.unit_settings.scale_length = 0.001
    scene.unit_settings.length_unit = "MILLIMETERS"


def in_millimeters(scene: bpy.types.Scene) -> bool:
    """Return whether one unit of the scene is one millimeter."""
    return scene.unit_settings.system == "METRIC" and abs(scene.unit_settings.scale_length - 0.001) < 1e-9
