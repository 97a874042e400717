# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the core become objects, meshes and materials; the only module that makes Blender data of them.

Collections, objects and materials are found again by a custom property, never by name, and rewritten in
place: what the user did to them (visibility, modifiers, names) stays.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix

from reliefsmith.errors import RecipeError
from reliefsmith.mesh import ground_of, levels_of
from reliefsmith.model import Part

from . import hand, materials, pieces
from .shading import Look

PART = "reliefsmith_part"
# Whole columns of a mesh; reading and writing them takes a hundredth of the time of going by vertices.
_POSITION, _CORNER, _FLAT = "position", ".corner_vert", "sharp_face"
_SHARP = math.radians(30)  # Blender's own first value; arcs of the core turn less from side to side
_TURNED = 1e-2  # of a unit normal: less is rounding of places to micrometers
_LEVEL = math.cos(math.radians(0.5))  # a face this near to level is one of a flat top


def refuse_linked(piece: bpy.types.Collection) -> None:
    """Refuse a piece that belongs to another file, before anything is written.

    Raises
    ------
    RecipeError
        As `hand.refuse_foreign`.
    """
    for item in (piece, *(pieces.find(piece, role) for role in (pieces.GENERATED, pieces.FINISH))):
        if item is not None:
            hand.refuse_foreign(item)
    for item in part_objects(piece).values():
        hand.refuse_foreign(item)
        hand.refuse_foreign(item.data)


def busy(piece: bpy.types.Collection) -> str:
    """Return which part is being edited or sculpted, and what that means, or ""."""
    names = [name for name, item in part_objects(piece).items() if item.mode != "OBJECT"]
    return f"{names[0]} is being edited; what you changed is made when you leave its mode" if names else ""


def show(
    piece: bpy.types.Collection,
    parts: Sequence[Part],
    looks: Mapping[str, Look] | None = None,
    *,
    settings: str = "",
    looking: bool = False,
) -> list[str]:
    """Bring parts into a piece's generated collection, one object each; returns what was set aside.

    `looks` says how a part is shown, by its name, `settings` is the recipe that the parts were made from;
    each mesh keeps it. What was changed by hand is not written over: it goes to `Finish` under a name that
    says so, or stays as it is where the parts are only looked into (`looking`).
    """
    refuse_linked(piece)
    target, finish = (pieces.collection(piece, role) for role in (pieces.GENERATED, pieces.FINISH))
    old = part_objects(piece)
    words = busy(piece)
    if words:
        raise RecipeError(words)
    aside: list[bpy.types.Object] = []
    for part in parts:
        known, made = old.pop(part.name, None), stamp_of(part)
        stays = known is not None and known.data.get(hand.STAMP) != made and _must_stay(known, part)
        if stays and not looking:
            hand.set_aside(pieces.scene_of(piece), known, target, finish)
            aside.append(known)
            known = None
        item = known if stays and looking else _object(target, known, part, made)
        materials.paint(item, part.color, (looks or {}).get(part.name, Look()))
        if item.data.get(hand.STAMP) == made and settings:
            item.data[hand.SETTINGS] = settings
        target[_key(part.name)] = item
    for name, left in old.items():
        if changed(left) or hand.has_marks(left, name, materials.is_painted(left)):
            if not looking:
                hand.set_aside(pieces.scene_of(piece), left, target, finish)
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


def part_objects(piece: bpy.types.Collection | None) -> dict[str, bpy.types.Object]:
    """Return the generated objects by the names of their parts; copies are not among them."""
    target = pieces.find(piece, pieces.GENERATED)
    found: dict[str, bpy.types.Object] = {}
    for item in target.objects if target else ():
        name = item.get(PART)
        if name is not None and target.get(_key(name), item) == item:
            found.setdefault(name, item)
    return found


def set_aside(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return what was changed by hand and therefore set aside."""
    place = pieces.find(piece, pieces.FINISH)
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
    corners = np.asarray(part.triangles, np.int32).ravel()
    return changed(item) or (hand.has_layers(item) and not np.array_equal(_corners(item.data), corners))


def _object(
    target: bpy.types.Collection, known: bpy.types.Object | None, part: Part, made: str
) -> bpy.types.Object:
    """Return the object of a part, new or rewritten; `made` is the part's stamp."""
    item = known
    if item is None:
        item = bpy.data.objects.new(part.name, bpy.data.meshes.new(part.name))
        item[PART] = part.name
        target.objects.link(item)
    if item.data.get(hand.STAMP) != made:
        on_its_ground = fill(item.data, part.vertices, part.triangles)
        _sign(item.data, part, made, ground=None if on_its_ground else ground_of(part.vertices))
    elif _FLAT not in item.data.attributes:
        shade(item.data)  # of an older file
    return item


def _sign(mesh: bpy.types.Mesh, part: Part, made: str, ground: str | None) -> None:
    """Note on a mesh which part of the core's it is, by its stamp; its ground is as before if not given."""
    mesh[hand.STAMP], mesh[hand.LEVELS] = made, levels_of(part.vertices)
    if ground is not None or hand.GROUND not in mesh:
        mesh[hand.GROUND] = ground or ground_of(part.vertices)


def unsigned(piece: bpy.types.Collection) -> list[bpy.types.Object]:
    """Return the parts of which it is not known what was last made: those of older files."""
    return [item for item in part_objects(piece).values() if hand.STAMP not in item.data]


def adopt(piece: bpy.types.Collection, parts: Sequence[Part]) -> None:
    """Take parts of older files that are just what their settings make as untouched."""
    made = {part.name: part for part in parts}
    for item in unsigned(piece):
        part = made.get(item[PART])
        now = hand.stamp(_positions(item.data), _corners(item.data), len(item.data.polygons))
        if part is not None and stamp_of(part) == now:
            _sign(item.data, part, now, ground_of(part.vertices))


def place(mesh: bpy.types.Mesh, vertices: np.ndarray[Any, Any]) -> None:
    """Move the vertices of a mesh to other places (n, 3)."""
    mesh.attributes[_POSITION].data.foreach_set("vector", np.asarray(vertices, np.float32).ravel())
    mesh.transform(Matrix.Identity(4))
    mesh.update()


def fill(mesh: bpy.types.Mesh, vertices: np.ndarray[Any, Any], triangles: np.ndarray[Any, Any]) -> bool:
    """Write vertices (n, 3) and triangles (m, 3) into a mesh datablock, and only what is not there yet.

    Returns whether the same vertices were there before, seen from above.
    """
    new, corners = np.asarray(vertices, np.float32), np.asarray(triangles, np.int32)
    if not _has_faces(mesh, new, corners):
        mesh.clear_geometry()
        mesh.vertices.add(len(new))
        mesh.loops.add(corners.size)
        mesh.polygons.add(len(corners))
        mesh.attributes[_CORNER].data.foreach_set("value", corners.ravel())
        mesh.polygons.foreach_set("loop_start", np.arange(0, corners.size, 3, dtype=np.int32))
        mesh.attributes[_POSITION].data.foreach_set("vector", new.ravel())
        mesh.update(calc_edges=True)
        shade(mesh)
        return False
    old = _positions(mesh).reshape(-1, 3)
    if not np.array_equal(old, new):
        mesh.attributes[_POSITION].data.foreach_set("vector", new.ravel())
        mesh.transform(Matrix.Identity(4))  # moves nothing, but Blender 4.5 finds bounds and normals anew
        mesh.update()
        if _are_tilted(old, new, corners):
            shade(mesh)
    return np.array_equal(old[:, :2], new[:, :2])


def is_on_its_ground(mesh: bpy.types.Mesh, part: Part) -> bool:
    """Return whether a mesh has the faces and vertices of a part, seen from above."""
    new, corners = np.asarray(part.vertices[:, :2], np.float32), np.asarray(part.triangles, np.int32)
    return _has_faces(mesh, new, corners) and np.array_equal(_positions(mesh).reshape(-1, 3)[:, :2], new)


def _has_faces(mesh: bpy.types.Mesh, vertices: np.ndarray[Any, Any], corners: np.ndarray[Any, Any]) -> bool:
    sizes = (len(mesh.vertices), len(mesh.loops), 3 * len(mesh.polygons))
    wanted = (len(vertices), corners.size, corners.size)
    return sizes == wanted and np.array_equal(_corners(mesh), corners.ravel())


def _are_tilted(old: np.ndarray[Any, Any], new: np.ndarray[Any, Any], corners: np.ndarray[Any, Any]) -> bool:
    """Return whether any face looks another way than before; those only lifted or made higher do not."""
    if not np.array_equal(old[:, :2], new[:, :2]):
        return True
    a, b, c = np.rint(1000.0 * (new[:, 2] - old[:, 2])).astype(np.int32)[corners].T
    bent = corners[(a != b) | (a != c)]
    ways = []
    for places in (old, new):
        a, b, c = (places[bent[:, corner]].astype(np.float64) for corner in range(3))
        across = np.cross(b - a, c - a)
        ways.append(across / np.maximum(np.linalg.norm(across, axis=1), 1e-300)[:, None])
    return bool((np.abs(ways[1] - ways[0]) > _TURNED).any())


def shade(mesh: bpy.types.Mesh) -> None:
    """Shade flat tops and undersides flat, and walls smooth but for their edges."""
    normals = np.empty(3 * len(mesh.polygons), np.float32)
    mesh.polygons.foreach_get("normal", normals)
    mesh.set_sharp_from_angle(angle=_SHARP)
    flat = mesh.attributes.get(_FLAT) or mesh.attributes.new(_FLAT, "BOOLEAN", "FACE")
    flat.data.foreach_set("value", np.abs(normals[2::3]) > _LEVEL)
    mesh.update()


def lay(mesh: bpy.types.Mesh, name: str, kind: str, domain: str, values: np.ndarray[Any, Any]) -> None:
    """Write one value for each vertex or face into a column of a mesh, made where it is missing."""
    if name not in mesh.attributes:
        mesh.attributes.new(name, kind, domain)
    key = "vector" if kind == "FLOAT_VECTOR" else "value"
    mesh.attributes[name].data.foreach_set(key, values.ravel())


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


def use_millimeters(scene: bpy.types.Scene) -> None:
    """Make one unit of the scene one millimeter."""
    scene.unit_settings.system = "METRIC"
    scene.unit_settings.scale_length = 0.001
    scene.unit_settings.length_unit = "MILLIMETERS"


def in_millimeters(scene: bpy.types.Scene) -> bool:
    """Return whether one unit of the scene is one millimeter."""
    return scene.unit_settings.system == "METRIC" and abs(scene.unit_settings.scale_length - 0.001) < 1e-9
