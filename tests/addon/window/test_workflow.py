"""The whole work of the add-on's guide in a real window: drop, adjust, prepare, sculpt, check, print.

Its pictures are those of the guide: `RELIEFSMITH_SHOTS=DIR` keeps them, and `guide.py` makes them small
and puts them into `addon/docs`.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from .desk import Desk, needs_window

pytestmark = [pytest.mark.blender, needs_window]

VIEW = (
    "from mathutils import Euler; r = space.region_3d; r.view_perspective = 'PERSP';"
    "r.view_rotation = Euler((0.75, 0.0, 0.35)).to_quaternion();"
    "r.view_location = (0, 0, 1); r.view_distance = 90"
)
CLOSE = f"{VIEW}; r.view_location = (0, 14, 2); r.view_distance = 42"
DONE = "not __import__('reliefsmith_addon.run').run.pending.waiting"
ABOVE = (
    "r = space.region_3d; r.view_perspective = 'ORTHO'; r.view_rotation = (1, 0, 0, 0);"
    "r.view_location = (0, 0, 0); r.view_distance = 60"
)
PART = "part = next(one for one in scene.objects if one.name == 'yellow')"
BRUSH = (
    "bpy.context.view_layer.objects.active = part; bpy.ops.object.mode_set(mode='SCULPT');"
    "tools = scene.tool_settings; tools.unified_paint_settings.size = 16;"
    "tools.sculpt.brush.strength = 0.8; tools.sculpt.use_symmetry_x = False"
)
MASK = """
import numpy as np
if bpy.app.version < (4, 1):  # the mask was no attribute then, so it would not hold walls and rims
    mask = np.empty(len(part.data.vertices), np.float32)
    part.data.attributes['.sculpt_mask'].data.foreach_get('value', mask)
    bpy.ops.paint.mask_flood_fill(mode='VALUE', value=0)  # makes the place for it
    bpy.ops.object.mode_set(mode='OBJECT')
    part.data.vertex_paint_masks[0].data.foreach_set('value', mask)
    bpy.ops.object.mode_set(mode='SCULPT')
"""
ROOM = """
import numpy as np
from reliefsmith_addon import bridge
places = bridge.read(part.data)[0]
tops = places[places[:, 2] > 3.1]
near = [(np.hypot(*(tops[:, :2] - one[:2]).T) < 4).sum() for one in tops]
value = tops[int(np.argmax(near))].tolist()
"""
"""The place of a part with most of its top round it."""
HELD = (
    "__import__('reliefsmith_addon.sculpting').sculpting.said("
    "next(one for one in scene.collection.children if one.name == 'Relief'))"
)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """One windowed Blender with the add-on on."""
    place = os.environ.get("RELIEFSMITH_SHOTS") or tmp_path_factory.mktemp("shots")
    with Desk(Path(place)) as found:
        yield found


def test_the_work_of_the_guide(desk: Desk, tmp_path: Path) -> None:
    desk.order("show_only('Relief')")
    desk.order("bpy.ops.reliefsmith.load_picture(filepath='samples/kite.png')")
    desk.shot("guide_1_drop")

    desk.order("bpy.ops.reliefsmith.make(); bpy.context.view_layer.objects.active = None")
    desk.order(f"show_only('Heights', 'Findings'); {VIEW}")
    desk.order("state.heights.style = 'raised'; state.heights.motif_mm = 1.2")
    desk.wait("abs(max(one.bound_box[6][2] for one in scene.objects) - 3.2) < 0.01", limit_s=400)
    desk.shot("guide_2_adjust")

    before = desk.order("value = sum(len(one.data.vertices) for one in scene.objects)")
    desk.order("bpy.ops.reliefsmith.prepare_sculpting(step_mm=0.3); show_only('Sculpting', 'Heights')")
    assert desk.order("value = sum(len(one.data.vertices) for one in scene.objects)") > 3 * before
    desk.order("space.overlay.show_wireframes, space.overlay.wireframe_opacity = True, 0.4")
    desk.order(CLOSE)
    desk.shot("guide_3_prepare")
    desk.order("space.overlay.show_wireframes = False")

    x, y = desk.place(*desk.order(f"{PART}\n{ABOVE}\n{BRUSH}\n{MASK}\n{ROOM}"))
    for row in (-24, -12, 0, 12, 24):
        desk.drag((x - 30, y + row), (x + 30, y + row))
    desk.order(CLOSE)
    desk.shot("guide_4_sculpt")
    desk.order(VIEW)
    desk.order("bpy.ops.object.mode_set(mode='OBJECT')")
    desk.wait(HELD, limit_s=400)
    assert "kept all of it" in desk.order(f"value = {HELD}")  # else a copy in Finish stands for the part
    desk.wait(DONE, limit_s=400)  # else its findings come over those of the check

    desk.order(f"{PART}; part.location.z = 0.4; bpy.context.view_layer.objects.active = None")
    desk.order("bpy.ops.reliefsmith.check(); show_only('Findings')")
    assert "part-moved" in desk.order("value = [one.code for one in state.findings]")
    desk.shot("guide_5_check")
    desk.order(f"{PART}; part.location.z = 0; bpy.ops.reliefsmith.check()")

    folder = tmp_path / "set"
    folder.mkdir()  # the dialog goes to folders that are there
    answer(desk, f"bpy.ops.reliefsmith.export('INVOKE_DEFAULT', directory={str(folder)!r})")
    desk.wait(f"__import__('os').path.exists({str(folder / 'kite-report.json')!r})", limit_s=400)
    report = json.loads((folder / "kite-report.json").read_text())
    assert {"kite.3mf", "kite-hand.tiff", "kite-recipe.toml"} <= set(report["files"])
    desk.order("show_only('Export', 'Proofs')")
    desk.shot("guide_6_print")


def answer(desk: Desk, command: str) -> None:
    """Give a command that asks for a folder, and press the file dialog's button."""
    desk.order("bpy.context.preferences.view.filebrowser_display_type = 'WINDOW'")
    windows = desk.order("value = len(bpy.context.window_manager.windows)")
    desk.order(command)
    desk.wait(f"len(bpy.context.window_manager.windows) > {windows}")
    desk.order(
        "other = bpy.context.window_manager.windows[-1]\n"
        "place = next(one for one in other.screen.areas if one.type == 'FILE_BROWSER')\n"
        "with bpy.context.temp_override(window=other, screen=other.screen, area=place):\n"
        "    bpy.ops.file.execute()"
    )


def test_escape_ends_the_writing_of_files(desk: Desk, tmp_path: Path) -> None:
    desk.order("bpy.ops.reliefsmith.load_picture(filepath='samples/heron.jpg')")
    desk.order("import reliefsmith_addon.session as s; s.forget()")  # there is all to be made
    said = (desk.out / "blender.log").read_text().count("files written")
    answer(desk, f"bpy.ops.reliefsmith.export('INVOKE_DEFAULT', directory={str(tmp_path)!r})")
    desk.key("Escape")
    time.sleep(5.0)
    desk.order("value = 1")
    assert list(tmp_path.iterdir()) == []
    assert (desk.out / "blender.log").read_text().count("files written") == said
    desk.order("bpy.ops.reliefsmith.make()")  # the window is free again
    assert desk.order("value = state.estimate")
