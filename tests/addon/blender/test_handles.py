"""Handles on the piece: where they stand and what a drag sets; the dragging is in the tests of the window."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest
from mathutils import Matrix, Vector

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


@pytest.fixture
def handles(scene: Any, installed: str) -> Any:
    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN))
    bpy.ops.reliefsmith.make()
    return importlib.import_module(installed + ".handles")


def handle(handles: Any, key: str) -> Any:
    return next(item for item in handles.HANDLES if item.key == key)


def test_handles_stand_on_the_piece_wherever_it_stands(scene: Any, handles: Any) -> None:
    (piece,) = scene.collection.children
    state = scene.reliefsmith
    low, high = handles.box_of(piece)
    assert list(high - low) == pytest.approx(
        [float(word) for word in state.size_text.split() if word[0].isdigit()], abs=0.06
    )
    assert handle(handles, "border_mm").at((low, high), state).x == pytest.approx(high.x)
    assert handle(handles, "at_mm").at((low, high), state).to_2d() == Vector(state.hole)
    for item in scene.objects:
        item.matrix_world = Matrix.Translation((40, 0, 0)) @ Matrix.Rotation(0.7, 4, "X")
    assert handles.box_of(piece) == (low, high)


@pytest.mark.parametrize(
    ("key", "way"), [("border_mm", (1, 0, 0)), ("base_mm", (0, 0, 1)), ("motif_mm", (0, 0, 1))]
)
def test_a_drag_sets_a_setting_within_its_bounds(scene: Any, handles: Any, key: str, way: Any) -> None:
    state, item = scene.reliefsmith, handle(handles, key)
    group = getattr(state, item.section)
    begin = item.value(state)
    words = item.moved(state, (False, begin), 0.456 * Vector(way) + Vector((0, 3, 0)))
    assert getattr(group, key) == pytest.approx(begin + 0.46, abs=0.006)
    assert words == f"{item.title}: {begin + 0.46:.2f} mm"
    item.moved(state, (False, begin), -1000 * Vector(way))
    assert getattr(group, key) == pytest.approx(group.bl_rna.properties[key].hard_min)


def test_a_dragged_hole_is_placed_by_hand(scene: Any, handles: Any) -> None:
    state, item = scene.reliefsmith, handle(handles, "at_mm")
    begin = item.value(state)
    item.moved(state, (False, begin), Vector((1.5, -2, 0)))
    assert state.hang.use_at_mm
    assert list(state.hang.at_mm) == pytest.approx([begin.x + 1.5, begin.y - 2], abs=1e-3)


def test_a_ray_meets_the_handles_line_or_its_plane(handles: Any) -> None:
    at = Vector((10, 4, 3))
    slanted = Vector((0.2, 0.1, -1))
    met = handles.along(handle(handles, "at_mm"), Vector((0, 0, 50)), slanted, at)
    assert list(met) == pytest.approx([9.4, 4.7, 3])
    met = handles.along(handle(handles, "border_mm"), Vector((25, 4, 50)), Vector((0, 0, -1)), at)
    assert list(met) == pytest.approx([25, 4, 3])
    assert handles.along(handle(handles, "base_mm"), Vector((10, 4, 50)), Vector((0, 0, -1)), at) is None


def test_there_are_none_where_the_piece_is_not_as_it_will_be(scene: Any, handles: Any) -> None:
    assert handles.are_shown(bpy.context)
    scene.reliefsmith.cut = True
    assert not handles.are_shown(bpy.context)
    scene.reliefsmith.cut = False
    bpy.context.view_layer.objects.active = next(iter(scene.objects))
    bpy.ops.object.mode_set(mode="EDIT")
    assert not handles.are_shown(bpy.context)
    bpy.ops.object.mode_set(mode="OBJECT")
    bpy.ops.reliefsmith.new_piece()
    assert not handles.are_shown(bpy.context)


def test_what_was_found_on_an_old_picture_goes_with_it(scene: Any, handles: Any) -> None:
    state = scene.reliefsmith
    state.live = False
    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN.with_name("kite.png")))
    assert (len(state.parts), len(state.findings), state.estimate, state.has_hole) == (0, 0, "", False)


@pytest.fixture
def texts(scene: Any, made: Any, installed: str) -> Any:
    bpy.ops.reliefsmith.add_text(text="Mirabel")
    bpy.ops.reliefsmith.add_text(text="Tobin")
    scene.reliefsmith.lettering[1].place = "back"
    made()
    return importlib.import_module(installed + ".texthandles")


def letters(state: Any, index: int) -> tuple[float, float]:
    return tuple(state.texts[index].middle)


def test_a_text_that_fills_an_area_is_dragged_from_where_it_stands(scene: Any, texts: Any, made: Any) -> None:
    state, item = scene.reliefsmith, texts.TextHandle(0)
    before, size = letters(state, 0), state.texts[0].size_mm
    assert not state.lettering[0].use_at_mm
    taken = item.taken(state)
    item.moved(state, taken, Vector((0, 0, 0)))
    made()
    assert letters(state, 0) == pytest.approx(before, abs=0.02)
    words = item.moved(state, taken, Vector((0.5, -1, 0)))
    made()
    assert letters(state, 0) == pytest.approx((before[0] + 0.5, before[1] - 1), abs=0.02)
    assert state.texts[0].size_mm == pytest.approx(size, abs=1e-3)
    assert words == "Text 1: {:.2f}, {:.2f} mm".format(*state.lettering[0].at_mm)
    item.given_back(state, taken)
    assert not state.lettering[0].use_at_mm
    assert not state.lettering[0].use_size_mm


@pytest.mark.parametrize("index", [0, 1], ids=["front", "back"])
def test_a_text_is_turned_with_the_handle_past_its_end(
    scene: Any, texts: Any, made: Any, handles: Any, index: int
) -> None:
    state, item = scene.reliefsmith, texts.TextHandle(index, turns=True)
    (piece,) = scene.collection.children
    box = handles.box_of(piece)
    at = Vector((*state.texts[index].at, 0)).to_2d()
    arm = item.at(box, state).to_2d() - at
    assert (arm.x > 0) == (index == 0)  # the right of a text on the back lies to the left from the front
    aim = Matrix.Rotation(0.3, 2) @ arm
    item.moved(state, item.taken(state), Vector((*(aim - arm), 0)))
    assert state.lettering[index].turn_deg == pytest.approx(17.2 if index == 0 else -17.2, abs=0.06)
    assert (item.at(box, state).to_2d() - at).angle(aim) == pytest.approx(0, abs=2e-3)
