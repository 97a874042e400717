"""The run in slices, as a window drives it: the same parts in the end, and Esc leaves the scene untouched."""

from __future__ import annotations

import importlib
import types
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"


class Window:
    """Stands in for the window and its manager: counts timers, handlers and progress."""

    def __init__(self) -> None:
        self.timers, self.shown, self.status = 0, False, None

    def event_timer_add(self, _step: float, *, window: Any) -> str:
        assert window is self
        self.timers += 1
        return "timer"

    def event_timer_remove(self, _timer: str) -> None:
        self.timers -= 1

    def progress_begin(self, _low: float, _high: float) -> None:
        self.shown = True

    def progress_update(self, value: float) -> None:
        assert 0 <= value <= 1

    def progress_end(self) -> None:
        self.shown = False

    def status_text_set(self, text: str | None) -> None:
        self.status = text


@pytest.fixture
def driven(scene: Any, installed: str) -> Any:
    """The operator's own functions on a stand-in, begun on a sample; events are given by hand."""
    operators = importlib.import_module(installed + ".operators")
    make = operators.RELIEFSMITH_OT_make
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    importlib.import_module(installed + ".session").forget()  # else there is nothing left to do
    window = Window()
    context = types.SimpleNamespace(scene=scene, window_manager=window, workspace=window, window=window)
    names = ("modal", "cancel", "end", "_advance", "_leave", "_end_told")
    operator = type("Driven", (), {name: getattr(make, name) for name in names})()
    operator.said = []
    operator.report = lambda _kind, text: operator.said.append(text)
    (piece,) = scene.collection.children
    operator._piece, operator._running = piece.name, importlib.import_module(installed + ".run").steps(piece)
    operator._timer = window.event_timer_add(0, window=window)
    window.progress_begin(0, 1)
    return types.SimpleNamespace(
        event=lambda kind: operator.modal(context, types.SimpleNamespace(type=kind)),
        window=window,
        operator=operator,
    )


def parts(scene: Any) -> list[str]:
    return [item["reliefsmith_part"] for item in scene.objects if "reliefsmith_part" in item]


def test_slices_come_to_the_same_parts_as_one_run(scene: Any, driven: Any) -> None:
    slices = 0
    while driven.event("TIMER") == {"RUNNING_MODAL"}:
        slices += 1
        assert parts(scene) == []
        assert "Esc" in driven.window.status
    assert slices > 3
    assert (driven.window.timers, driven.window.shown, driven.window.status) == (0, False, None)
    sliced = parts(scene)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    assert parts(bpy.context.scene) == sliced


def test_escape_stops_and_leaves_the_scene_untouched(scene: Any, driven: Any) -> None:
    assert driven.event("TIMER") == {"RUNNING_MODAL"}
    assert driven.event("MOUSEMOVE") == {"RUNNING_MODAL"}
    assert driven.event("ESC") == {"CANCELLED"}
    assert parts(scene) == []
    (piece,) = scene.collection.children  # it holds the settings
    assert len(piece.children) == len(piece.objects) == 0
    assert (driven.window.timers, driven.window.shown, driven.window.status) == (0, False, None)
    with pytest.raises(StopIteration):
        next(driven.operator._running)


def test_a_fault_on_the_way_is_one_sentence_and_cleans_up(
    scene: Any, driven: Any, installed: str, tmp_path: Path
) -> None:
    broken = tmp_path / "kite.png"
    broken.write_bytes(b"no picture")
    scene.reliefsmith.picture = str(broken)
    (piece,) = scene.collection.children
    driven.operator._running = importlib.import_module(installed + ".run").steps(piece)
    result = {"RUNNING_MODAL"}
    while result == {"RUNNING_MODAL"}:
        result = driven.event("TIMER")
    assert result == {"CANCELLED"}
    (said,) = driven.operator.said
    assert "kite.png" in said
    assert "\n" not in said
    assert (driven.window.timers, driven.window.shown) == (0, False)
