"""Lines of the panel that cut a piece, and what goes with a piece in the view."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"
STAND = {"stand.kind": "slot", "stand.feet": 2, "base.shape": "rectangle", "hang.hardware": "none"}


def _set(scene: Any, installed: str, values: dict[str, Any]) -> None:
    properties = importlib.import_module(installed + ".properties")
    recipe = properties.to_recipe(scene.reliefsmith)
    properties.from_recipe(scene.reliefsmith, recipe.with_values(values))


def _beside(scene: Any) -> list[Any]:
    """The places of all points of what goes with the piece, an array for each object."""
    bpy.context.view_layer.update()
    items = [item for item in scene.objects if item.get("reliefsmith_stage") == "accessory"]
    return [np.array([item.matrix_world @ one.co for one in item.data.vertices]) for item in items]


def test_feet_lie_beside_the_piece_as_they_are_printed(scene: Any, made: Any, installed: str) -> None:
    import reliefsmith as rs

    properties = importlib.import_module(installed + ".properties")
    _set(scene, installed, STAND)
    made()
    relief = rs.make(LANTERN, properties.to_recipe(scene.reliefsmith))
    (foot,) = relief.result.accessories
    found = sorted(_beside(scene), key=lambda points: points[:, 0].min())
    assert len(found) == foot.copies == 2
    right = relief.plan.whole.bounds[2]
    for points in found:
        size = points.max(axis=0) - points.min(axis=0)
        assert size == pytest.approx(np.subtract(*foot.bounds[::-1]), abs=1e-3)
        assert points[:, 2].min() == pytest.approx(0.0, abs=1e-6)
        assert points[:, 0].min() == pytest.approx(right + 5.0, abs=1e-3)  # beds.spacing_mm
        right = points[:, 0].max()
    bpy.ops.reliefsmith.check()  # it is no part of what is checked
    assert scene.reliefsmith.checked.endswith(f"{len(scene.reliefsmith.parts)} objects")


def test_feet_follow_the_settings_and_undo(scene: Any, made: Any, installed: str) -> None:
    flush = importlib.import_module(installed + ".run").pending.flush
    made()
    assert _beside(scene) == []
    scene.reliefsmith.live = True
    bpy.ops.ed.undo_push(message="made")
    _set(scene, installed, STAND)
    flush()
    bpy.ops.ed.undo_push(message="stand")
    assert len(_beside(bpy.context.scene)) == 2
    bpy.context.scene.reliefsmith.show_accessories = False
    flush()
    assert _beside(bpy.context.scene) == []
    bpy.context.scene.reliefsmith.show_accessories = True
    flush()
    assert len(_beside(bpy.context.scene)) == 2
    bpy.ops.ed.undo()
    flush()
    assert bpy.context.scene.reliefsmith.stand.kind == "off"
    assert _beside(bpy.context.scene) == []


def test_lines_of_the_panel_cut_the_piece_and_are_undone(scene: Any, made: Any, recipe: Any) -> None:
    import reliefsmith as rs

    made()
    scene.reliefsmith.live = True
    bpy.ops.ed.undo_push(message="made")
    assert bpy.ops.reliefsmith.add_cut() == {"FINISHED"}
    bpy.ops.ed.undo_push(message="line")
    (line,) = recipe().seams.lines
    assert recipe().seams.mode == "line"
    (base,) = (item for item in scene.objects if item.get("reliefsmith_part") == "base")
    across = [corner[0] for corner in base.bound_box]
    assert line.from_mm[0] < min(across) < max(across) < line.to_mm[0]
    bpy.context.scene.reliefsmith.seams.lines[0].from_mm[1] = 2.0
    assert recipe().seams.lines[0].from_mm[1] == 2.0
    made()
    relief = rs.make(LANTERN, recipe())
    assert len(relief.plan.division.segments) == 2
    assert len(base.data.vertices) == len(relief.parts[0].vertices)
    assert bpy.ops.reliefsmith.remove_row(what="seams.lines", index=0) == {"FINISHED"}
    assert recipe().seams.lines == ()
    bpy.ops.ed.undo()
    assert recipe().seams.mode == "off"
