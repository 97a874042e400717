"""Live: many changes make one run, what comes out equals a fresh run, and mistakes leave the scene alone."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"


@pytest.fixture
def run(scene: Any, installed: str) -> Any:
    module = importlib.import_module(installed + ".run")
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    return module


def heights() -> dict[str, float]:
    return {
        item["reliefsmith_part"]: max(vertex.co.z for vertex in item.data.vertices)
        for item in bpy.context.scene.objects
        if "reliefsmith_part" in item
    }


def test_fifty_changes_make_one_run_that_equals_a_fresh_one(
    run: Any, installed: str, monkeypatch: Any
) -> None:
    import reliefsmith as rs

    scene = bpy.context.scene
    begun = []
    begin = run.pending.begin
    monkeypatch.setattr(run.pending, "begin", lambda piece: begun.append(1) or begin(piece))
    for step in range(50):
        scene.reliefsmith.heights.base_mm = 1.0 + 0.04 * step
    run.pending.flush()
    assert len(begun) == 1
    recipe = rs.Recipe().with_values({"heights.base_mm": 2.96})
    bridge = importlib.import_module(installed + ".bridge")
    for part in rs.make(SAMPLES / "lantern.png", recipe).parts:
        item = next(item for item in scene.objects if item.get("reliefsmith_part") == part.name)
        np.testing.assert_array_equal(bridge.read(item.data)[0], part.vertices.astype(np.float32))


def test_without_live_nothing_is_made_until_asked(run: Any) -> None:
    before = heights()
    scene = bpy.context.scene
    scene.reliefsmith.live = False
    scene.reliefsmith.heights.base_mm = 4.0
    run.pending.flush()
    assert heights() == before
    bpy.ops.reliefsmith.make()
    assert heights() != before


def test_settings_that_cannot_be_used_leave_the_scene_and_say_why(run: Any) -> None:
    before = heights()
    state = bpy.context.scene.reliefsmith
    state.size.use_width_mm = True
    state.size.use_height_mm = True
    run.pending.flush()
    assert heights() == before
    assert "size.width_mm" in state.trouble
    state.size.use_height_mm = False
    run.pending.flush()
    assert state.trouble == ""


def test_a_color_becomes_the_base_or_is_left_out(run: Any) -> None:
    state = bpy.context.scene.reliefsmith
    motif = next(item.name for item in state.parts if item.role == "motif")
    color = [round(255 * value) for value in state.parts[motif].color]
    bpy.ops.reliefsmith.use_color(part=motif, role="base")
    run.pending.flush()
    assert [round(255 * value) for value in state.parts["base"].color] == color
    other = next(item.name for item in state.parts if item.role == "motif")
    bpy.ops.reliefsmith.use_color(part=other, role="omit")
    run.pending.flush()
    assert other not in [item.name for item in state.parts]
    with pytest.raises(RuntimeError, match="no part"):
        bpy.ops.reliefsmith.use_color(part="nothing", role="omit")


def test_a_finding_with_a_place_is_shown_there(run: Any) -> None:
    state = bpy.context.scene.reliefsmith
    item = state.findings.add()
    item.has_place, item.place = True, (1, 2, 3)
    bpy.ops.reliefsmith.show_finding(index=len(state.findings) - 1)
    assert tuple(bpy.context.scene.cursor.location) == (1, 2, 3)
    with pytest.raises(RuntimeError, match="no place"):
        bpy.ops.reliefsmith.show_finding(index=999)


def test_what_waits_is_dropped_on_unregister(run: Any, installed: str) -> None:
    extension = importlib.import_module(installed)
    bpy.context.scene.reliefsmith.heights.base_mm = 3.4
    assert run.pending.waiting
    assert bpy.app.timers.is_registered(run.pending.timer)
    extension.unregister()
    try:
        assert not run.pending.waiting
        assert not bpy.app.timers.is_registered(run.pending.timer)
    finally:
        extension.register()
