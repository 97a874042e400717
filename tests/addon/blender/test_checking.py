"""The check in the scene: in slices with Esc, dots at the places of findings, remeshed parts not refused."""

from __future__ import annotations

import importlib
import types
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest
from mathutils import Vector

pytestmark = pytest.mark.blender

KITE = Path(__file__).parents[3] / "samples" / "kite.png"


@pytest.fixture
def made(scene: Any, installed: str) -> Any:
    """The kite, made; gives a module of the add-on by its name."""
    bpy.ops.reliefsmith.load_picture(filepath=str(KITE))
    bpy.ops.reliefsmith.make()
    return lambda name: importlib.import_module(f"{installed}.{name}")


def parts() -> list[Any]:
    owner = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "generated")
    return list(owner.objects)


class Window:
    """Stands in for a window, its manager and its header."""

    def __init__(self) -> None:
        self.timers, self.said = 0, []

    def event_timer_add(self, _step: float, *, window: Any) -> str:
        assert window is self
        self.timers += 1
        return "timer"

    def event_timer_remove(self, _timer: str) -> None:
        self.timers -= 1

    def progress_begin(self, _low: float, _high: float) -> None: ...
    def progress_end(self) -> None: ...
    def modal_handler_add(self, _operator: Any) -> None: ...

    def progress_update(self, value: float) -> None:
        assert 0 <= value <= 1

    def status_text_set(self, text: str | None) -> None:
        self.said.append(text)


def driven(operator: type, scene: Any) -> tuple[Any, Window, Any]:
    """A command's own functions on a stand-in, begun in a window; events are given by hand."""
    names = ("begin", "end", "start", "modal", "cancel", "_advance", "_leave", "_end_told")
    own = type("Driven", (), {name: getattr(operator, name) for name in names})()
    own.selected, own.report = False, lambda _kind, _text: None
    window = Window()
    layer = bpy.context.view_layer
    context = types.SimpleNamespace(
        scene=scene, view_layer=layer, window_manager=window, workspace=window, window=window
    )
    assert own.start(context) == {"RUNNING_MODAL"}
    return own, window, context


def event(own: Any, context: Any, kind: str) -> set[str]:
    return own.modal(context, types.SimpleNamespace(type=kind))


def test_a_check_in_slices_finds_what_one_in_one_go_finds(made: Any, scene: Any) -> None:
    parts()[1].location.x += 0.3
    bpy.context.view_layer.update()
    bpy.ops.reliefsmith.check()
    at_once = [(item.code, item.message) for item in scene.reliefsmith.findings]
    scene.reliefsmith.findings.clear()
    own, window, context = driven(made("overlay").RELIEFSMITH_OT_check, scene)
    while event(own, context, "TIMER") == {"RUNNING_MODAL"}:
        assert len(scene.reliefsmith.findings) == 0
    assert [(item.code, item.message) for item in scene.reliefsmith.findings] == at_once
    assert "part-moved" in dict(at_once)
    assert window.timers == 0
    assert any("cutting layer" in (text or "") and "Esc" in text for text in window.said)


def test_escape_leaves_the_findings_of_before(made: Any, scene: Any) -> None:
    before = [item.message for item in scene.reliefsmith.findings]
    own, window, context = driven(made("overlay").RELIEFSMITH_OT_check, scene)
    assert event(own, context, "TIMER") == {"RUNNING_MODAL"}
    assert event(own, context, "ESC") == {"CANCELLED"}
    assert [item.message for item in scene.reliefsmith.findings] == before
    assert scene.reliefsmith.checked == ""
    assert (window.timers, window.said[-1]) == (0, None)


def test_a_dot_stands_at_each_finding_wherever_the_piece_is(made: Any, scene: Any) -> None:
    overlay = made("overlay")
    parts()[1].location.z += 0.4
    bpy.context.view_layer.update()
    bpy.ops.reliefsmith.check()
    placed = [item for item in scene.reliefsmith.findings if item.has_place]
    dots = overlay.dots(scene)
    assert len(dots) == len(placed) > 0
    for item in parts():
        item.location.x += 100.0
    bpy.context.view_layer.update()
    for (_, severity, place, _), finding in zip(overlay.dots(scene), placed, strict=True):
        assert severity == finding.severity
        assert (place - Vector((100, 0, 0)) - Vector(finding.place)).length < 1e-3
    number = dots[-1][0]
    bpy.ops.reliefsmith.show_finding(index=number - 1)
    chosen = [dot for dot in overlay.dots(scene) if dot[3]]
    assert [dot[0] for dot in chosen] == [number]
    assert (scene.cursor.location - chosen[0][2]).length < 1e-4
    scene.reliefsmith.show_findings = False
    assert overlay.dots(scene) == []


def test_a_disc_is_made_of_triangles_round_its_middle(made: Any) -> None:
    corners = np.array(made("overlay").disc(5.0, 7.0, 2.0)).reshape(-1, 3, 2)
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2)
    assert area == pytest.approx(np.pi * 4, rel=0.02)


@pytest.mark.deep  # of another piece, in each run: test_scene.py
def test_parts_remeshed_at_a_usual_size_are_not_refused(made: Any, scene: Any) -> None:
    for item in parts():
        way = item.modifiers.new("remesh", "REMESH")
        way.mode, way.voxel_size = "VOXEL", 0.12
    bpy.ops.reliefsmith.check()
    shared = {item.severity for item in scene.reliefsmith.findings if item.code == "parts-overlap"}
    assert shared <= {"note"}


def test_a_top_pushed_through_the_bottom_is_told(made: Any, scene: Any) -> None:
    bpy.ops.reliefsmith.prepare_sculpting(step_mm=0.3)
    item = next(one for one in parts() if one["reliefsmith_part"] != "base")
    places = np.empty(3 * len(item.data.vertices), np.float32)
    item.data.attributes["position"].data.foreach_get("vector", places)
    places = places.reshape(-1, 3)
    top = places[:, 2] > places[:, 2].max() - 1e-4
    center = places[top][top.sum() // 2]
    pushed = top & (np.linalg.norm(places[:, :2] - center[:2], axis=1) < 1.5)
    places[pushed, 2] -= 1.6
    item.data.attributes["position"].data.foreach_set("vector", places.ravel())
    item.data.update()
    bpy.ops.reliefsmith.check()
    assert "solids-cross" in {one.code for one in scene.reliefsmith.findings}
