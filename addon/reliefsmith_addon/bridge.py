# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the core become objects, meshes and materials; the only module that makes Blender data of them.

Collections, objects and materials are found again by a custom property, never by name, and rewritten in
place: what the user did to them (visibility, modifiers, names) stays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix

from reliefsmith.errors import RecipeError
from reliefsmith.model import Part

from . import hand

_ROLE = "reliefsmith_role"
PART = "reliefsmith_part"
_COLOR = "reliefsmith_color"
GENERATED, FINISH, JOB, STAGE = "generated", "finish", "job", "stage"
_TITLES = {JOB: "Relief", GENERATED: "Generated", FINISH: "Finish", STAGE: "Turntable"}
_ROUGHNESS = {"matte": 0.75, "gloss": 0.25, "silk": 0.35, "clear": 0.15}  # by finish, judged by eye
_PLAIN = "matte"
# Whole columns of a mesh; reading and writing them takes a hundredth of the time of going by vertices.
_POSITION, _CORNER = "position", ".corner_vert"


def collection(scene: bpy.types.Scene, role: str) -> bpy.types.Collection:
    """Return the scene's collection of a role; it is made where it is missing.

    `GENERATED` is rewritten by the add-on, `FINISH` is the user's and never touched, `STAGE` holds camera
    and lights; they stand in `JOB`.
    """
    found = find(scene, role)
    if found is not None:
        return found
    parent = scene.collection if role == JOB else collection(scene, JOB)
    if parent != scene.collection:
        hand.refuse_foreign(parent)
    made = bpy.data.collections.new(_TITLES[role])
    made[_ROLE] = role
    parent.children.link(made)
    return made


def find(scene: bpy.types.Scene, role: str) -> bpy.types.Collection | None:
    """Return the scene's collection of a role, or None."""
    for item in scene.collection.children_recursive:
        if item.get(_ROLE) == role:
            return item
    return None


def refuse_linked(scene: bpy.types.Scene) -> None:
    """Refuse a scene whose relief belongs to another file, before anything is written.

    Raises
    ------
    RecipeError
        As `hand.refuse_foreign`.
    """
    for item in (scene, *(find(scene, role) for role in (JOB, GENERATED, FINISH))):
        if item is not None:
            hand.refuse_foreign(item)
    for item in part_objects(scene).values():
        hand.refuse_foreign(item)
        hand.refuse_foreign(item.data)


def busy(scene: bpy.types.Scene) -> str:
    """Return which part is being edited or sculpted, and what that means, or ""."""
    names = [name for name, item in part_objects(scene).items() if item.mode != "OBJECT"]
    return f"{names[0]} is being edited; what you changed is made when you leave its mode" if names else ""


def show(
    scene: bpy.types.Scene,
    parts: Sequence[Part],
    finishes: Mapping[str, str] | None = None,
    *,
    looking: bool = False,
) -> list[str]:
    """Bring parts into the scene's generated collection, one object each; returns what was set aside.

    `finishes` gives the finish of a part's filament by the part's name, where it is known. What was changed
    by hand is not written over: it goes to `FINISH` under a name that says so, or stays as it is where the
    parts are only looked into (`looking`).
    """
    refuse_linked(scene)
    target, finish = collection(scene, GENERATED), collection(scene, FINISH)
    old = part_objects(scene)
    words = busy(scene)
    if words:
        raise RecipeError(words)
    aside: list[bpy.types.Object] = []
    for part in parts:
        known = old.pop(part.name, None)
        if known is not None and not looking and _must_stay(known, part):
            hand.set_aside(scene, known, target, finish)
            aside.append(known)
            known = None
        item = _object(target, known, part, (finishes or {}).get(part.name, _PLAIN), looking)
        target[_key(part.name)] = item
    for name, left in old.items():
        if changed(left) or hand.has_marks(left, name, _own_material(left)):
            if not looking:
                hand.set_aside(scene, left, target, finish)
                aside.append(left)
            continue
        mesh = left.data
        bpy.data.objects.remove(left)
        if mesh is not None and mesh.users == 0:
            bpy.data.meshes.remove(mesh)
    return [item.name for item in aside]


def _key(part: str) -> str:
    """Return under which name the collection knows the object of a part: a copy of it is none."""
    return f"{PART} {part}"


def part_objects(scene: bpy.types.Scene) -> dict[str, bpy.types.Object]:
    """Return the generated objects by the names of their parts; copies are not among them."""
    target = find(scene, GENERATED)
    found: dict[str, bpy.types.Object] = {}
    for item in target.objects if target else ():
        name = item.get(PART)
        if name is not None and target.get(_key(name), item) == item:
            found.setdefault(name, item)
    return found


def set_aside(scene: bpy.types.Scene) -> list[bpy.types.Object]:
    """Return what was changed by hand and therefore set aside."""
    place = find(scene, FINISH)
    return [item for item in place.objects if hand.ASIDE in item] if place else []


def stamp_of(part: Part) -> str:
    """Return the stamp of a part of the core's."""
    return hand.stamp(part.vertices, part.triangles, len(part.triangles))


def changed(item: bpy.types.Object) -> bool:
    """Return whether an object's mesh is not what was last made of it."""
    mesh = item.data
    now = hand.stamp(_positions(mesh), _corners(mesh), len(mesh.polygons))
    return hand.has_shapes(item) or mesh.get(hand.STAMP) != now


def _must_stay(item: bpy.types.Object, part: Part) -> bool:
    """Return whether writing a part into an object would lose what the artist did to it."""
    if item.data.get(hand.STAMP) == stamp_of(part):
        return False  # nothing is written
    corners = np.asarray(part.triangles, np.int32).ravel()
    return changed(item) or (hand.has_layers(item) and not np.array_equal(_corners(item.data), corners))


def _object(
    target: bpy.types.Collection, known: bpy.types.Object | None, part: Part, finish: str, looking: bool
) -> bpy.types.Object:
    """Return the object of a part, new or rewritten, or as the artist left it."""
    item = known
    if item is None:
        item = bpy.data.objects.new(part.name, bpy.data.meshes.new(part.name))
        item[PART] = part.name
        target.objects.link(item)
    made = stamp_of(part)
    if item.data.get(hand.STAMP) != made and not (looking and known is not None and _must_stay(known, part)):
        fill(item.data, part.vertices, part.triangles)
        item.data[hand.STAMP] = made
    material = _material(part.color, finish)
    if not item.data.materials:
        item.data.materials.append(material)
    elif item.data.materials[0] != material and not _own_material(item):
        item.data.materials[0] = material
    item.color = (*_linear(part.color), 1.0)
    return item


def _own_material(item: bpy.types.Object) -> bool:
    """Return whether the material of a part is the artist's: another one, or one of ours that was edited."""
    found = item.data.materials[0] if item.data.materials else None
    if found is None:
        return False
    color, _, finish = found.get(_COLOR, "").partition(" ")
    if finish not in _ROUGHNESS or found.node_tree is None or len(found.node_tree.nodes) != 2:
        return True
    rgba = (*_linear(tuple(bytes.fromhex(color[1:]))), 1.0)
    values = [node.inputs for node in found.node_tree.nodes if node.type == "BSDF_PRINCIPLED"]
    return not any(
        np.allclose(node["Base Color"].default_value, rgba, atol=1e-5)
        and abs(node["Roughness"].default_value - _ROUGHNESS[finish]) < 1e-5
        for node in values
    )


def fill(mesh: bpy.types.Mesh, vertices: np.ndarray[Any, Any], triangles: np.ndarray[Any, Any]) -> None:
    """Write vertices (n, 3) and triangles (m, 3) into a mesh datablock, and only what is not there yet."""
    new, corners = np.asarray(vertices, np.float32).ravel(), np.asarray(triangles, np.int32).ravel()
    sizes = (len(mesh.vertices), len(mesh.loops), 3 * len(mesh.polygons))
    if sizes != (len(vertices), len(corners), len(corners)) or not np.array_equal(_corners(mesh), corners):
        mesh.clear_geometry()
        mesh.vertices.add(len(vertices))
        mesh.loops.add(len(corners))
        mesh.polygons.add(len(triangles))
        mesh.attributes[_CORNER].data.foreach_set("value", corners)
        mesh.polygons.foreach_set("loop_start", np.arange(0, len(corners), 3, dtype=np.int32))
        mesh.attributes[_POSITION].data.foreach_set("vector", new)
        mesh.update(calc_edges=True)
    elif not np.array_equal(_positions(mesh), new):
        mesh.attributes[_POSITION].data.foreach_set("vector", new)
        mesh.transform(Matrix.Identity(4))  # moves nothing, but Blender 4.5 finds bounds and normals anew
        mesh.update()


def read(mesh: bpy.types.Mesh) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Return the vertices (n, 3) and triangles (m, 3) of a mesh."""
    mesh.calc_loop_triangles()
    triangles = np.empty(3 * len(mesh.loop_triangles), np.int32)
    mesh.loop_triangles.foreach_get("vertices", triangles)
    return _positions(mesh).reshape(-1, 3), triangles.reshape(-1, 3)


def _positions(mesh: bpy.types.Mesh) -> np.ndarray[Any, Any]:
    found = np.empty(3 * len(mesh.vertices), np.float32)
    if len(found):
        mesh.attributes[_POSITION].data.foreach_get("vector", found)
    return found


def _corners(mesh: bpy.types.Mesh) -> np.ndarray[Any, Any]:
    """Return the vertex of each corner of each face."""
    found = np.empty(len(mesh.loops), np.int32)
    if len(found):
        mesh.attributes[_CORNER].data.foreach_get("value", found)
    return found


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
