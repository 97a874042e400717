# SPDX-License-Identifier: GPL-3.0-or-later
"""What is the artist's: a mesh that is not what was last made, and anything put on a part. It is never lost.

Every mesh that is made carries a stamp of its content. One whose content no longer agrees with it was changed
by hand: it is not written over, but set aside in `Finish`, and a new object becomes the part.
"""

from __future__ import annotations

import hashlib
from typing import Any

import bpy
import numpy as np

from reliefsmith.errors import RecipeError

from .shading import THROUGH

STAMP = "reliefsmith_made"
ASIDE = "reliefsmith_aside"
SETTINGS = "reliefsmith_settings"  # what a mesh was made from
LEVELS, GROUND = "reliefsmith_levels", "reliefsmith_ground"  # by which hand work can follow its part
MADE = (STAMP, SETTINGS, LEVELS, GROUND)
_BY_HAND = " by hand"
_BLENDERS = {"position", "sharp_face", "sharp_edge", "material_index", THROUGH}  # on every mesh
_SCULPTED = {".sculpt_mask", ".sculpt_face_set"}


def stamp(vertices: np.ndarray[Any, Any], corners: np.ndarray[Any, Any], faces: int) -> str:
    """Return the stamp of a mesh: its places in single precision, corners and number of its faces."""
    given = hashlib.blake2b(np.ascontiguousarray(vertices, np.float32).tobytes(), digest_size=16)
    given.update(np.ascontiguousarray(corners, np.int32).tobytes())
    given.update(str(faces).encode())
    return given.hexdigest()


def has_layers(item: bpy.types.Object) -> bool:
    """Return whether the mesh carries what goes when its faces are made anew: UVs, groups, masks, colors."""
    mesh = item.data
    own = {layer.name for layer in mesh.attributes} - _BLENDERS
    own = {name for name in own if not name.startswith(".") or name in _SCULPTED}
    return bool(own or item.vertex_groups or len(mesh.materials) > 1)


def has_shapes(item: bpy.types.Object) -> bool:
    """Return whether shape keys or multiresolution lie on the mesh: they do not follow a new one."""
    levels = [way for way in item.modifiers if way.type == "MULTIRES" and way.total_levels]
    return item.data.shape_keys is not None or bool(levels)


def has_marks(item: bpy.types.Object, part: str, is_own: bool) -> bool:
    """Return whether anything of the artist's would go with the object; `is_own` of its material."""
    named = item.name != part and not item.name.startswith(part + ".")
    placed = not np.allclose(item.matrix_world, np.eye(4))
    hung = bool(item.modifiers or item.constraints or item.children or item.animation_data)
    return is_own or named or placed or hung or has_layers(item) or has_shapes(item)


def set_aside(
    scene: bpy.types.Scene, item: bpy.types.Object, made: bpy.types.Collection, finish: bpy.types.Collection
) -> None:
    """Move an object into the artist's collection, where it is seen and its name says what it is."""
    made.objects.unlink(item)
    if item.name not in finish.objects:
        finish.objects.link(item)
    item[ASIDE] = 1 + max((int(one.get(ASIDE, 0)) for one in finish.objects), default=0)
    if not item.name.endswith(_BY_HAND):
        item.name += _BY_HAND
    item.hide_viewport = finish.hide_viewport = False
    for layer in scene.view_layers:
        for place in _layers(layer.layer_collection):
            if place.collection == finish:
                place.exclude = place.hide_viewport = False
        if item.name in layer.objects:
            item.hide_set(False, view_layer=layer)


def _layers(place: bpy.types.LayerCollection) -> list[bpy.types.LayerCollection]:
    return [place, *(inner for child in place.children for inner in _layers(child))]


def refuse_foreign(item: bpy.types.ID) -> None:
    """Refuse data that belongs to another file: writing to it would be lost, or end Blender.

    Raises
    ------
    RecipeError
        If it is linked, or overrides what is linked.
    """
    if item.library is not None or item.override_library is not None:
        file = item.library or item.override_library.reference.library
        raise RecipeError(
            f"{item.name} is linked from {bpy.path.basename(file.filepath)}; change it there, or append it"
        )
