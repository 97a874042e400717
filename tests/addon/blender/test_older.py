"""Files of earlier versions: their parts are known again, their settings move to where they are kept now."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest
from byhand import kept, motif, part, place, places, sculpt

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def forget(scene: Any) -> None:
    """Make the file as version 0.1 left it: no word on what was made, and the state on the scene."""
    for row in scene.reliefsmith.parts:
        mesh = part(row.name).data
        for key in list(mesh.keys()):
            del mesh[key]
    scene.reliefsmith.made_recipe = ""


def test_untouched_parts_of_an_older_file_are_known_again(scene: Any, made: Any, tmp_path: Path) -> None:
    shape = sculpt(part(motif()))
    names = {row.name for row in scene.reliefsmith.parts}
    forget(scene)
    file = str(tmp_path / "old.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.open_mainfile(filepath=file)
    bpy.context.scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert bpy.context.scene.reliefsmith.trouble == ""
    aside = [item.name for item in place("finish").objects]
    assert aside == [f"{motif()} by hand"]
    assert kept(shape)
    assert {row.name for row in bpy.context.scene.reliefsmith.parts} == names


def test_lists_of_colors_that_an_older_file_holds_as_text_become_wells(
    scene: Any, made: Any, recipe: Any, tmp_path: Path
) -> None:
    state = scene.reliefsmith.colors
    newer = hasattr(state, "bl_system_properties_get")
    kept = state.bl_system_properties_get(do_create=True) if newer else state
    kept["omit"], kept["merge"] = '["#102030"]', '[["#405060", "#1e8a8a"]]'
    file = str(tmp_path / "old.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.open_mainfile(filepath=file)
    assert recipe().colors.omit == ("#102030",)
    assert recipe().colors.merge == (("#405060", "#1e8a8a"),)
    assert recipe().colors.palette == ()


def test_the_state_of_an_older_file_moves_to_its_piece(
    scene: Any, made: Any, installed: str, tmp_path: Path
) -> None:
    scene.reliefsmith.base.border_mm = 1.75
    made()
    (piece,) = scene.collection.children
    today, kind = bpy.types.Scene.__dict__["reliefsmith"], type(piece.reliefsmith)
    del bpy.types.Scene.reliefsmith
    bpy.types.Scene.reliefsmith = bpy.props.PointerProperty(type=kind)
    importlib.import_module(installed + ".pieces").copy(piece.reliefsmith, scene.reliefsmith)
    piece.property_unset("reliefsmith")
    file = str(tmp_path / "old.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    del bpy.types.Scene.reliefsmith
    bpy.types.Scene.reliefsmith = today
    bpy.ops.wm.open_mainfile(filepath=file)
    (piece,) = bpy.context.scene.collection.children
    assert piece.reliefsmith.base.border_mm == pytest.approx(1.75)
    assert Path(bpy.context.scene.reliefsmith.picture) == LANTERN
    bpy.context.scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert bpy.context.scene.reliefsmith.trouble == ""
    assert places(part("base"))[:, 2].max() == pytest.approx(3.6)
