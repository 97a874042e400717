# SPDX-License-Identifier: GPL-3.0-or-later
"""The pieces of a file: each is a collection that holds its own state, so it can be appended and copied.

Panels and commands mean the piece of the active object, else the one used last. Before the first picture is
loaded there is no piece yet; what is set until then waits on the scene and goes into the first one.
"""

from __future__ import annotations

from typing import Any

import bpy

from . import hand

_ROLE = "reliefsmith_role"
GENERATED, FINISH, JOB, STAGE = "generated", "finish", "job", "stage"
_TITLES = {JOB: "Relief", GENERATED: "Generated", FINISH: "Finish", STAGE: "Turntable"}


def all_of(scene: bpy.types.Scene) -> list[bpy.types.Collection]:
    """Return the pieces of a scene, the one used last at the end."""
    found = [item for item in scene.collection.children_recursive if item.get(_ROLE) == JOB]
    return sorted(found, key=lambda item: item.reliefsmith.turn)


def current(scene: bpy.types.Scene) -> bpy.types.Collection | None:
    """Return the piece of the active object, else the one used last, or None."""
    found = all_of(scene)
    layer = bpy.context.view_layer if bpy.context.scene == scene else scene.view_layers[0]
    active = layer.objects.active if layer is not None else None
    around = [item for item in found if active is not None and active.name in item.all_objects]
    here = [item for item in around if item.all_objects[active.name] == active]
    return next(iter([*here, *reversed(found)]), None)


def state_of(scene: bpy.types.Scene) -> Any:
    """Return the state of the piece that is meant, or what is set before there is one."""
    piece = current(scene)
    return scene.reliefsmith_draft if piece is None else piece.reliefsmith


def of(state: Any) -> bpy.types.Collection | None:
    """Return the piece that a state is of, or None for what is set before there is one."""
    owner = state.id_data
    return owner if isinstance(owner, bpy.types.Collection) else None


def begin(scene: bpy.types.Scene) -> bpy.types.Collection:
    """Return the piece that is meant; the first one takes what was set before."""
    piece = current(scene)
    if piece is None:
        piece = add(scene)
        copy(scene.reliefsmith_draft, piece.reliefsmith)
        scene.property_unset("reliefsmith_draft")
    use(scene, piece)
    return piece


def add(scene: bpy.types.Scene) -> bpy.types.Collection:
    """Add an empty piece to a scene.

    Raises
    ------
    RecipeError
        If the scene belongs to another file.
    """
    hand.refuse_foreign(scene)
    piece = bpy.data.collections.new(_TITLES[JOB])
    piece[_ROLE] = JOB
    scene.collection.children.link(piece)
    use(scene, piece)
    return piece


def use(scene: bpy.types.Scene, piece: bpy.types.Collection) -> None:
    """Note that a piece is the one used last."""
    others = [item.reliefsmith.turn for item in all_of(scene) if item != piece]
    piece.reliefsmith.turn = max(others, default=0) + 1


def objects(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return everything that stands in a piece's collections, but for what only shows it."""
    place = find(piece, STAGE)
    shown = set(place.all_objects) if place is not None else set()
    return [item for item in piece.all_objects if item not in shown] if piece is not None else []


def refuse_foreign(scene: bpy.types.Scene) -> None:
    """Refuse to work on a piece that belongs to another file.

    Raises
    ------
    RecipeError
        As `hand.refuse_foreign`.
    """
    piece = current(scene)
    if piece is not None:
        hand.refuse_foreign(piece)


def named(name: str) -> bpy.types.Collection | None:
    """Return the piece of this file of this name, or None."""
    found = bpy.data.collections.get((name, None))
    return found if found is not None and found.get(_ROLE) == JOB else None


def scene_of(piece: bpy.types.Collection) -> bpy.types.Scene | None:
    """Return the scene that a piece stands in, the one that is seen first."""
    scenes = sorted(bpy.data.scenes, key=lambda scene: scene != bpy.context.scene)
    return next((scene for scene in scenes if piece in scene.collection.children_recursive), None)


def collection(piece: bpy.types.Collection, role: str) -> bpy.types.Collection:
    """Return a piece's collection of a role; it is made where it is missing.

    `GENERATED` is rewritten by the add-on, `FINISH` is the user's and never touched, `STAGE` holds camera
    and lights.
    """
    found = find(piece, role)
    if found is not None:
        return found
    hand.refuse_foreign(piece)
    made = bpy.data.collections.new(_TITLES[role])
    made[_ROLE] = role
    piece.children.link(made)
    return made


def find(piece: bpy.types.Collection | None, role: str) -> bpy.types.Collection | None:
    """Return a piece's collection of a role, or None."""
    inside = piece.children_recursive if piece is not None else ()
    return next((item for item in inside if item.get(_ROLE) == role), None)


def copy(source: Any, target: Any) -> None:
    """Set every property of a group to that of another one of the same class."""
    for about in source.bl_rna.properties:
        if about.identifier == "rna_type":
            continue
        key, value = about.identifier, getattr(source, about.identifier)
        if about.type == "COLLECTION":
            getattr(target, key).clear()
            for row in value:
                copy(row, getattr(target, key).add())
        elif isinstance(value, bpy.types.PropertyGroup):
            copy(value, getattr(target, key))
        elif not about.is_readonly:
            setattr(target, key, value)
