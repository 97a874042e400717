# SPDX-License-Identifier: GPL-3.0-or-later
"""Files of version 0.1: their state lies on the scene, and their meshes do not say what was last made."""

from __future__ import annotations

import tomllib
from typing import Any

import bpy

from reliefsmith.errors import ReliefsmithError
from reliefsmith.recipe import Recipe

from . import bridge, pieces, properties

_STATE = "reliefsmith"
_TYPED = ("palette", "merge", "omit")  # lists of colors, which were text once


@bpy.app.handlers.persistent
def after_load(*_: Any) -> None:
    """Move the state of an older file to its piece, and note what the parts were made from."""
    for scene in bpy.data.scenes:
        empty = [piece for piece in pieces.all_of(scene) if not piece.reliefsmith.picture]
        if empty and scene.library is None:
            _move_state(scene, empty[0])
        for piece in pieces.all_of(scene):
            if piece.library is None:
                _assign(piece.reliefsmith, _typed(piece.reliefsmith))
                _note_settings(piece)


def made_recipe(state: Any) -> Recipe:
    """Return the recipe that the parts in the scene were made from."""
    return Recipe.from_mapping(tomllib.loads(state.made_recipe))


def _move_state(scene: bpy.types.Scene, piece: bpy.types.Collection) -> None:
    """Copy the state that an older version kept on the scene; there the name is another thing today."""
    today = bpy.types.Scene.__dict__[_STATE]
    delattr(bpy.types.Scene, _STATE)
    setattr(bpy.types.Scene, _STATE, bpy.props.PointerProperty(type=type(piece.reliefsmith)))
    try:
        if scene.is_property_set(_STATE):
            before = getattr(scene, _STATE)
            typed = _typed(before)
            pieces.copy(before, piece.reliefsmith)
            _assign(piece.reliefsmith, typed)
            scene.property_unset(_STATE)
    finally:
        delattr(bpy.types.Scene, _STATE)
        setattr(bpy.types.Scene, _STATE, today)


def _typed(state: Any) -> dict[str, Any]:
    """Return the lists of colors that were typed as text; to be read before they are asked for as rows."""
    kept = state.colors
    if hasattr(kept, "bl_system_properties_get"):  # Blender 5 keeps them apart from an artist's own values
        kept = kept.bl_system_properties_get() or {}
    typed = {f"colors.{key}": kept.get(key) for key in _TYPED}
    return {
        key: tomllib.loads(f"value = {text}")["value"]
        for key, text in typed.items()
        if isinstance(text, str) and text
    }


def _assign(state: Any, values: dict[str, Any]) -> None:
    if values:
        properties.from_recipe(state, properties.to_recipe(state).with_values(values))


def _note_settings(piece: bpy.types.Collection) -> None:
    state = piece.reliefsmith
    if not state.made_recipe and bridge.unsigned(piece):
        try:
            state.made_recipe = properties.to_recipe(state).to_toml()
        except ReliefsmithError:
            state.made_recipe = ""  # settings that make nothing: the parts count as changed by hand
