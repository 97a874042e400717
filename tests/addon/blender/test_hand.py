"""Hand work is never lost: whatever is changed, made again, undone or linked, the mesh is still there."""

from __future__ import annotations

import types
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest
from byhand import DENT_MM, kept, motif, part, place, places, sculpt

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"
KITE = LANTERN.with_name("kite.png")


class Recorder:
    """Stands in for a layout: notes what is drawn."""

    def __init__(self, log: list[tuple[Any, ...]]) -> None:
        object.__setattr__(self, "log", log)

    def __setattr__(self, name: str, value: object) -> None:
        pass

    def __getattr__(self, name: str) -> Any:
        return lambda *given, **named: self.log.append((name, given, named)) or Recorder(self.log)


def test_making_again_with_nothing_changed_keeps_the_sculpted_part(scene: Any, made: Any) -> None:
    name = motif()
    shape = sculpt(part(name))
    bpy.ops.reliefsmith.make()
    np.testing.assert_array_equal(places(part(name)), shape)
    assert len(place("finish").objects) == 0


def test_a_changed_setting_sets_the_sculpted_part_aside_and_says_so(
    scene: Any, made: Any, capfd: Any
) -> None:
    name = motif()
    shape = sculpt(part(name))
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    (mine,) = kept(shape)
    assert mine.name == f"{name} by hand"
    assert list(place("finish").objects) == [mine]
    log: list[tuple[Any, ...]] = []
    panel = bpy.types.RELIEFSMITH_PT_relief
    panel.draw(types.SimpleNamespace(layout=Recorder(log)), bpy.context)
    said = " ".join(named.get("text", "") for _, _, named in log)  # a sentence may take several lines
    assert f"In Finish, as you changed it: {mine.name}" in said
    assert not np.array_equal(places(part(name)), shape)
    sculpt(part("base"))
    scene.reliefsmith.live = False
    scene.reliefsmith.heights.base_mm = 3.2
    bpy.ops.reliefsmith.make()
    assert "set aside in Finish: base by hand" in capfd.readouterr().out


def test_undo_and_redo_of_something_else_leave_hand_work_alone(scene: Any, made: Any) -> None:
    name = motif()
    shape = sculpt(part(name))
    bpy.ops.ed.undo_push(message="sculpted")
    bpy.ops.mesh.primitive_cube_add()
    bpy.ops.ed.undo_push(message="cube")
    for step in (bpy.ops.ed.undo, bpy.ops.ed.redo):
        step()
        made()
        np.testing.assert_array_equal(places(part(name)), shape)


def test_undo_of_a_setting_keeps_hand_work_of_before(scene: Any, made: Any) -> None:
    name = motif()
    shape = sculpt(part(name))
    bpy.ops.ed.undo_push(message="sculpted")
    scene.reliefsmith.heights.base_mm = 3.6
    bpy.ops.ed.undo_push(message="height")
    made()
    bpy.ops.ed.undo()
    made()
    assert kept(shape)
    bpy.ops.ed.redo()
    made()
    assert kept(shape)


def test_a_copy_never_becomes_the_part(scene: Any, made: Any) -> None:
    name = motif()
    original = part(name)
    copy = original.copy()
    copy.data = original.data.copy()
    place("generated").objects.link(copy)
    shape = sculpt(copy)
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert part(name) == original
    assert kept(shape) == [copy]


@pytest.mark.parametrize("kind", ["keys", "uv", "group", "multires", "mask"])
def test_what_lies_on_a_mesh_is_not_lost_when_its_faces_are_made_anew(
    scene: Any, made: Any, kind: str
) -> None:
    item = part("base")
    if kind == "keys":
        item.shape_key_add(name="Basis")
        item.shape_key_add(name="mine").data[0].co.z += 1.0
    elif kind == "uv":
        item.data.uv_layers.new(name="mine")
    elif kind == "group":
        item.vertex_groups.new(name="mine").add([0, 1, 2], 1.0, "REPLACE")
    elif kind == "multires":
        item.modifiers.new("mine", "MULTIRES")
        with bpy.context.temp_override(object=item, active_object=item):
            bpy.ops.object.multires_subdivide(modifier="mine", mode="SIMPLE")
    else:
        item.data.attributes.new(".sculpt_mask", "FLOAT", "POINT")
    shape = places(item)
    scene.reliefsmith.base.border_mm = 3.0
    made()
    assert scene.reliefsmith.trouble == ""
    assert kept(shape) == [item]
    assert item.name == "base by hand"
    if kind == "keys":
        assert "mine" in item.data.shape_keys.key_blocks
    if kind == "uv":
        assert "mine" in item.data.uv_layers
    if kind == "multires":
        assert item.modifiers["mine"].total_levels == 1


def test_own_materials_modifiers_and_names_stay_on_the_part(scene: Any, made: Any) -> None:
    item = part("base")
    item.name = "my plate"
    own = bpy.data.materials.new("mine")
    item.data.materials[0] = own
    item.modifiers.new("mine", "BEVEL").limit_method = "ANGLE"
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert part("base") == item
    assert (item.name, item.data.materials[0], item.modifiers[0].name) == ("my plate", own, "mine")


def test_parts_of_colors_that_vanish_and_come_back_are_kept(scene: Any, made: Any) -> None:
    shapes = {row.name: sculpt(part(row.name)) for row in scene.reliefsmith.parts}
    scene.reliefsmith.colors.count = 2
    made()
    assert scene.reliefsmith.trouble == ""
    assert len(scene.reliefsmith.parts) < len(shapes)
    assert all(kept(shape) for shape in shapes.values())
    scene.reliefsmith.colors.count = 0
    made()
    assert len(scene.reliefsmith.parts) == len(shapes)
    assert all(kept(shape) for shape in shapes.values())


def test_another_picture_in_the_same_file_keeps_hand_work(scene: Any, made: Any) -> None:
    shapes = [sculpt(part(row.name)) for row in scene.reliefsmith.parts]
    bpy.ops.reliefsmith.load_picture(filepath=str(KITE))
    bpy.ops.reliefsmith.make()
    assert all(kept(shape) for shape in shapes)


def test_looking_inside_leaves_hand_work_where_it_is(scene: Any, made: Any) -> None:
    name = motif()
    shape = sculpt(part(name))
    for cut in (True, False):
        scene.reliefsmith.cut = cut
        made()
        np.testing.assert_array_equal(places(part(name)), shape)
    assert len(place("finish").objects) == 0


@pytest.mark.parametrize("way", ["linked", "overridden"])
def test_a_relief_of_another_file_is_refused_in_one_line(
    scene: Any, made: Any, tmp_path: Path, way: str
) -> None:
    file = str(tmp_path / "kite-day.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(file, link=True) as (source, target):
        target.collections = [name for name in source.collections if name == "Relief"]
    (relief,) = target.collections
    bpy.context.scene.collection.children.link(relief)
    if way == "overridden":
        relief = relief.override_hierarchy_create(bpy.context.scene, bpy.context.view_layer)
        assert relief.override_library is not None
    for command, given in (
        ("load_picture", {"filepath": str(LANTERN)}),
        ("make", {}),
        ("turntable", {}),
        ("check", {}),
        ("add_filament", {}),
    ):
        with pytest.raises(RuntimeError, match=r"linked from kite-day\.blend"):
            getattr(bpy.ops.reliefsmith, command)(**given)
    before = len(bpy.context.scene.collection.children)
    bpy.ops.reliefsmith.new_piece()  # one of this file's own, beside it
    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN))
    assert bpy.ops.reliefsmith.make() == {"FINISHED"}
    assert len(bpy.context.scene.collection.children) == before + 1


def test_an_appended_relief_keeps_its_hand_work(scene: Any, made: Any, tmp_path: Path) -> None:
    shape = sculpt(part(motif()))
    file = str(tmp_path / "kite-day.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(file, link=False) as (source, target):
        target.collections = [name for name in source.collections if name == "Relief"]
    bpy.context.scene.collection.children.link(target.collections[0])
    bpy.ops.reliefsmith.load_picture(filepath=str(KITE))
    bpy.ops.reliefsmith.make()
    bpy.context.view_layer.update()
    assert kept(shape)


def drawn() -> tuple[str, list[str]]:
    """What the first panel says, and the commands it offers."""
    log: list[tuple[Any, ...]] = []
    bpy.types.RELIEFSMITH_PT_relief.draw(types.SimpleNamespace(layout=Recorder(log)), bpy.context)
    said = " ".join(named.get("text", "") for _, _, named in log)
    return said, [given[0] for name, given, _ in log if name == "operator"]


def copied(name: str) -> Any:
    """A copy of a part in Finish, with relief on it."""
    copy = part(name).copy()
    copy.data = part(name).data.copy()
    place("finish").objects.link(copy)
    sculpt(copy)
    return copy


def test_a_copy_says_which_settings_have_changed_and_stays_when_asked(scene: Any, made: Any) -> None:
    copy = copied(motif())
    shape = places(copy)
    assert "earlier settings" not in drawn()[0]
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    said, offered = drawn()
    assert f"{copy.name} is of earlier settings: heights.base_mm 2.0, now 3.6" in said
    assert {"reliefsmith.bring_along", "reliefsmith.keep_copy"} <= set(offered)
    bpy.ops.reliefsmith.keep_copy(item=copy.name)
    assert "earlier settings" not in drawn()[0]
    np.testing.assert_array_equal(places(copy), shape)
    scene.reliefsmith.heights.base_mm = 2.6
    made()
    assert "heights.base_mm 2.0, now 2.6" in drawn()[0]
    scene.reliefsmith.heights.base_mm = 2.0
    made()
    assert "earlier settings" not in drawn()[0]


def test_a_copy_is_brought_along_to_new_heights(scene: Any, made: Any) -> None:
    copy = copied(motif())
    shape = places(copy)
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    bpy.ops.reliefsmith.bring_along(item=copy.name)
    assert "earlier settings" not in drawn()[0]
    np.testing.assert_allclose(places(copy), shape + np.array([0, 0, 1.6]), atol=1e-5)
    scene.reliefsmith.heights.motif_mm = 1.0
    made()
    bpy.ops.reliefsmith.bring_along(item=copy.name)
    expected = np.array([vertex.co[:] for vertex in part(copy["reliefsmith_part"]).data.vertices])
    expected[expected[:, 2] == expected[:, 2].max(), 2] += DENT_MM
    np.testing.assert_allclose(places(copy), expected, atol=1e-5)


def test_a_part_set_aside_is_brought_along_and_stands_for_the_new_one(
    scene: Any, made: Any, tmp_path: Path
) -> None:
    sculpt(part("base"))
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert "base by hand is of earlier settings" in drawn()[0]
    bpy.ops.reliefsmith.bring_along(item="base by hand")
    top = places(bpy.data.objects["base by hand"])[:, 2].max()
    assert top == pytest.approx(3.6 + DENT_MM, abs=1e-5)


def test_a_copy_whose_part_has_another_outline_is_not_brought_along(scene: Any, made: Any) -> None:
    copy = copied("base")
    shape = places(copy)
    scene.reliefsmith.base.border_mm = 3.0
    made()
    with pytest.raises(RuntimeError, match="base has another outline now"):
        bpy.ops.reliefsmith.bring_along(item=copy.name)
    np.testing.assert_array_equal(places(copy), shape)
    for command in (bpy.ops.reliefsmith.bring_along, bpy.ops.reliefsmith.keep_copy):
        with pytest.raises(RuntimeError, match="no copy of a part in Finish"):
            command(item="base")


def test_an_own_color_in_the_view_stays(scene: Any, made: Any) -> None:
    part("base").color = (0.1, 0.7, 0.2, 1.0)
    before = tuple(part(motif()).color)
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert tuple(part("base").color) == pytest.approx((0.1, 0.7, 0.2, 1.0))
    assert tuple(part(motif()).color) == before
