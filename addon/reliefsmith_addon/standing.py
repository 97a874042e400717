# SPDX-License-Identifier: GPL-3.0-or-later
"""From the scene to the core: the piece as it stands, what was changed by hand, what is under a click.

Nothing here reads the context; it is handed in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import bpy
import numpy as np
from bpy_extras import view3d_utils
from mathutils import Matrix, Vector, geometry

from reliefsmith.errors import RecipeError
from reliefsmith.model import Part

from . import bridge, finish, hand, materials, pieces

_ABOVE_MM = 1000.0  # higher than any piece


def selection_only() -> Any:
    """Return the property of a command that can take the selection instead of the whole piece."""
    return bpy.props.BoolProperty(
        name="Selection Only",
        description="Take only the selected objects, not the whole piece",
        options={"SKIP_SAVE"},
    )


def taken(
    piece: bpy.types.Collection | None, layer: bpy.types.ViewLayer, *, selected: bool = False
) -> list[Part]:
    """Return the whole piece as it stands in the scene, hidden parts too, or only the `selected` meshes.

    A mesh in `Finish` stands in place of the generated part that it is a copy of; what else lies in the
    piece's collections is taken with it. Places are those of the artwork, wherever the piece stands.

    Raises
    ------
    RecipeError
        If there is no mesh.
    """
    objects = meshes(piece, layer, selected=selected)
    if selected:
        layer.update()
        return parts_of(objects, layer.depsgraph, frame(piece))
    with _seen(layer, objects):
        return parts_of(objects, layer.depsgraph, frame(piece))


def meshes(
    piece: bpy.types.Collection | None, layer: bpy.types.ViewLayer, *, selected: bool = False
) -> list[bpy.types.Object]:
    """Return the meshes of the whole piece as it stands, or only the `selected` ones.

    Raises
    ------
    RecipeError
        If there is none.
    """
    if selected:
        objects = [item for item in layer.objects.selected if item.type == "MESH"]
        if not objects:
            raise RecipeError("there is no mesh in the selection; select the objects of one piece")
        return objects
    objects = _whole(piece)
    if not objects:
        raise RecipeError("there is no piece to take; make the relief, or take only the selection")
    return objects


def _whole(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return the meshes of the user's and the generated ones that those do not replace.

    Left out are copies beside the parts, what was set aside by hand of a color that is gone, and what was set
    aside before something else of the same part.
    """
    parts, own = bridge.part_objects(piece), finish.copies(piece)
    own = [item for item in own if item[bridge.PART] in parts or hand.ASIDE not in item]
    own = [item for item in own if finish.later(piece, item) is None]
    replaced = {item[bridge.PART] for item in own}
    other = [item for item in pieces.objects(piece) if item.type == "MESH" and bridge.PART not in item]
    return [*(item for name, item in parts.items() if name not in replaced), *own, *other]


@contextmanager
def _seen(layer: bpy.types.ViewLayer, objects: Sequence[bpy.types.Object]) -> Iterator[None]:
    """Have objects seen for a while: Blender applies no modifiers to what is hidden."""
    layer.update()
    hidden = [item for item in objects if not item.visible_get(view_layer=layer)]
    if not hidden:
        yield
        return
    places = _places(layer.layer_collection)
    before = [(place.exclude, place.hide_viewport, place.collection.hide_viewport) for place in places]
    for place in places:
        if set(hidden) & set(place.collection.all_objects):
            if place != layer.layer_collection:
                place.exclude = False
            place.hide_viewport = place.collection.hide_viewport = False
    flags = [(item.hide_viewport, item.hide_get(view_layer=layer)) for item in hidden]
    for item in hidden:
        item.hide_viewport = False
        item.hide_set(False, view_layer=layer)
    layer.update()
    try:
        yield
    finally:
        for item, (everywhere, here) in zip(hidden, flags, strict=True):
            item.hide_viewport = everywhere
            item.hide_set(here, view_layer=layer)
        # The tree is walked anew, from its root: leaving one out leaves out what is in it.
        for place, (left_out, here, everywhere) in zip(_places(layer.layer_collection), before, strict=True):
            if place.exclude != left_out:
                place.exclude = left_out
            place.hide_viewport, place.collection.hide_viewport = here, everywhere
        layer.update()


def _places(place: bpy.types.LayerCollection) -> list[bpy.types.LayerCollection]:
    """Return a collection of the view layer and all in it."""
    return [place, *(inner for child in place.children for inner in _places(child))]


def untouched(piece: bpy.types.Collection | None) -> set[str]:
    """Return the names of the parts that are as they were made, by their stamps, and stand with the piece."""
    rows = bridge.part_objects(piece)
    place = frame(piece)
    return {
        name
        for name, item in rows.items()
        if not (bridge.changed(item) or item.modifiers or hand.has_shapes(item))
        and np.allclose(item.matrix_world, place, atol=1e-6)
    }


def changed(
    piece: bpy.types.Collection | None, layer: bpy.types.ViewLayer, parts: Sequence[Part]
) -> list[str]:
    """Return the names of the parts whose objects are not what was made, or are gone."""
    objects = list(bridge.part_objects(piece).values())
    with _seen(layer, objects):
        found = {part.name: part for part in parts_of(objects, layer.depsgraph)}
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
    return item if hit and bridge.PART in item else None


def select(layer: bpy.types.ViewLayer, item: bpy.types.Object | None) -> None:
    """Select one object, and nothing else, or nothing at all."""
    for other in list(layer.objects.selected):
        other.select_set(False, view_layer=layer)
    layer.objects.active = item
    if item is not None:
        item.hide_set(False, view_layer=layer)
        item.select_set(True, view_layer=layer)


def frame(piece: bpy.types.Collection | None) -> Matrix:
    """Return where the piece stands as a whole: most of its parts moved and turned alike, none scaled."""
    there = [item.matrix_world for item in bridge.part_objects(piece).values()]
    rows = Counter(tuple(round(value, 6) for row in matrix for value in row) for matrix in there)
    common, count = rows.most_common(1)[0] if rows else ((), 0)
    index = [tuple(round(value, 6) for row in matrix for value in row) for matrix in there]
    found = there[index.index(common)] if 2 * count > len(there) else Matrix()
    is_rigid = np.allclose(found.to_3x3() @ found.to_3x3().transposed(), np.eye(3), atol=1e-6)
    return found.copy() if is_rigid and not found.is_negative else Matrix()


def parts_of(
    objects: Sequence[bpy.types.Object], depsgraph: bpy.types.Depsgraph, frame: Matrix | None = None
) -> list[Part]:
    """Return mesh objects as the core's parts, as they stand in a frame of the scene, modifiers applied.

    One made by the add-on is the part that it is; of others the first is the base, if none is.
    """
    parts = []
    back = (frame or Matrix()).inverted()
    for item in objects:
        seen = item.evaluated_get(depsgraph)
        mesh = seen.to_mesh()
        mesh.transform(back @ item.matrix_world)
        if item.matrix_world.is_negative:  # mirrored: the outside is turned in
            mesh.flip_normals()
        vertices, triangles = bridge.read(mesh)
        seen.to_mesh_clear()
        name = item.get(bridge.PART, item.name)
        role = "base" if name == "base" else "motif"
        parts.append(Part(name, role, materials.color_of(item), vertices.astype(np.float64), triangles))
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
    piece = pieces.current(context.scene)
    back = frame(piece).inverted()
    if hit and bridge.PART in item and item in pieces.objects(piece):
        local = back @ place
        return item[bridge.PART], (local.x, local.y)
    start, way = back @ origin, back.to_3x3() @ ray
    bed = geometry.intersect_line_plane(start, start + way, Vector((0, 0, 0)), Vector((0, 0, 1)))
    return None if bed is None else ("", (bed.x, bed.y))
