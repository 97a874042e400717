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


@bpy.app.handlers.persistent
def after_load(*_: Any) -> None:
    """Move the state of an older file to its piece, and note what the parts were made from."""
    for scene in bpy.data.scenes:
        empty = [piece for piece in pieces.all_of(scene) if not piece.reliefsmith.picture]
        if empty and scene.library is None:
            _move_state(scene, empty[0])
        for piece in pieces.all_of(scene):
            if piece.library is None:
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
            pieces.copy(getattr(scene, _STATE), piece.reliefsmith)
            scene.property_unset(_STATE)
    finally:
        delattr(bpy.types.Scene, _STATE)
        setattr(bpy.types.Scene, _STATE, today)


def _note_settings(piece: bpy.types.Collection) -> None:
    state = piece.reliefsmith
    if not state.made_recipe and bridge.unsigned(piece):
        try:
            state.made_recipe = properties.to_recipe(state).to_toml()
        except ReliefsmithError:
            state.made_recipe = ""  # settings that make nothing: the parts count as changed by hand
