"""What the artist changed by hand: seen, checked and written as it stands, and never lost without a word."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

_GRID_AND_SINGLE_MM = 2e-3  # the file's grid of 1 um, after Blender's single precision
LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def parts(scene: Any) -> dict[str, Any]:
    place = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "generated")
    return {item["reliefsmith_part"]: item for item in place.objects}


def read(folder: Path) -> dict[str, Any]:
    from reliefsmith.formats import read_parts

    return {part.name: part for part in read_parts(folder / "lantern-finish.3mf")}


def low(parts: Any) -> Any:
    """The corner at which a package begins; 3MF moves the whole piece into the positive octant."""
    return np.min([part.vertices.min(axis=0) for part in parts], axis=0)


def sculpt(item: Any, rise_mm: float) -> None:
    """Raise the highest vertices, as a brush does."""
    top = max(vertex.co.z for vertex in item.data.vertices)
    for vertex in item.data.vertices:
        if vertex.co.z == top:
            vertex.co.z += rise_mm


def test_untouched_parts_are_written_as_the_core_made_them(scene: Any, made: Any, tmp_path: Path) -> None:
    import reliefsmith as rs

    assert bpy.ops.reliefsmith.export_scene(directory=str(tmp_path)) == {"FINISHED"}
    found = read(tmp_path)
    made_parts = rs.make(LANTERN).parts
    for part in made_parts:
        assert found[part.name].color == part.color
        assert found[part.name].role == part.role
        np.testing.assert_allclose(
            found[part.name].vertices, part.vertices - low(made_parts), atol=_GRID_AND_SINGLE_MM
        )
        assert (tmp_path / f"lantern-finish-{part.name}.stl").is_file()


def test_edited_meshes_and_modifiers_are_written_and_checked(scene: Any, made: Any, tmp_path: Path) -> None:
    name = next(item.name for item in scene.reliefsmith.parts if item.role == "motif")
    sculpt(parts(scene)[name], 0.4)
    push = parts(scene)[name].modifiers.new("push", "DISPLACE")
    push.direction, push.strength, push.mid_level = "Z", 0.3, 0.0
    top = max(vertex.co.z for vertex in parts(scene)[name].data.vertices) + 0.3
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert read(tmp_path)[name].vertices[:, 2].max() == pytest.approx(top, abs=1e-3)
    assert scene.reliefsmith.checked.startswith("The whole piece checked")


def test_a_copy_in_finish_stands_for_its_part(scene: Any, made: Any, tmp_path: Path) -> None:
    name = next(item.name for item in scene.reliefsmith.parts if item.role == "motif")
    copy = parts(scene)[name].copy()
    copy.data = copy.data.copy()
    next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "finish").objects.link(copy)
    top = max(vertex.co.z for vertex in parts(scene)[name].data.vertices)
    sculpt(copy, 0.6)
    bpy.ops.reliefsmith.make()  # rewrites what it owns only
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    found = read(tmp_path)
    assert sorted(found) == sorted(parts(scene))
    assert found[name].vertices[:, 2].max() == pytest.approx(top + 0.6, abs=1e-3)


def test_a_mirrored_piece_keeps_its_outside(scene: Any, made: Any, tmp_path: Path) -> None:
    for item in parts(scene).values():
        item.scale.x = -1
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert "not-watertight" not in [item.code for item in scene.reliefsmith.findings]
    for part in read(tmp_path).values():
        a, b, c = (part.vertices[part.triangles[:, i]] for i in range(3))
        assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() > 0


def test_what_is_changed_in_place_is_what_blender_sees(scene: Any, made: Any) -> None:
    base = parts(scene)["base"]
    base.data.attributes.new("mine", "FLOAT", "POINT").data[0].value = 7.0
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    bpy.context.view_layer.update()
    assert max(corner[2] for corner in base.bound_box) == pytest.approx(3.6)
    assert base.dimensions.z == pytest.approx(3.6)
    assert base.data.attributes["mine"].data[0].value == 7.0  # same triangles: only places are new
    slopes = {round(abs(face.normal.z), 3) for face in base.data.polygons}
    assert slopes <= {0.0, 1.0}
    down = bpy.context.view_layer.depsgraph
    hit, place, normal, *_ = scene.ray_cast(down, (0, 0, 50), (0, 0, -1))
    assert hit
    assert place.z >= 3.6 - 1e-4
    assert normal.z == pytest.approx(1)


def test_parts_that_are_being_edited_are_left_alone(scene: Any, made: Any) -> None:
    base = parts(scene)["base"]
    bpy.context.view_layer.objects.active = base
    bpy.ops.object.mode_set(mode="EDIT")
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    assert "base is being edited; what you changed is made when you leave" in scene.reliefsmith.trouble
    bpy.ops.object.mode_set(mode="OBJECT")
    assert max(vertex.co.z for vertex in base.data.vertices) == pytest.approx(2.0)
    made()  # what was refused runs by itself, with no setting touched again
    assert scene.reliefsmith.trouble == ""
    assert max(vertex.co.z for vertex in base.data.vertices) == pytest.approx(3.6)


@pytest.mark.parametrize("mode", ["EDIT", "SCULPT"])
def test_a_run_that_was_asked_for_meanwhile_is_made_on_leaving(scene: Any, made: Any, mode: str) -> None:
    base = parts(scene)["base"]
    scene.reliefsmith.live = False
    scene.reliefsmith.heights.base_mm = 3.6
    bpy.context.view_layer.objects.active = base
    bpy.ops.object.mode_set(mode=mode)
    with pytest.raises(RuntimeError, match="made when you leave"):
        bpy.ops.reliefsmith.make()
    made()
    bpy.ops.object.mode_set(mode="OBJECT")
    assert max(vertex.co.z for vertex in base.data.vertices) == pytest.approx(2.0)
    made()
    assert max(vertex.co.z for vertex in base.data.vertices) == pytest.approx(3.6)


def test_a_run_that_ends_while_a_part_is_edited_is_made_on_leaving(
    scene: Any, made: Any, installed: str, monkeypatch: Any
) -> None:
    monkeypatch.setattr(importlib.import_module(installed + ".live"), "SLICE_S", 0.0)
    pending = importlib.import_module(installed + ".run").pending
    base = parts(scene)["base"]
    scene.reliefsmith.heights.base_mm = 3.6
    pending.tick()
    assert pending.steps is not None  # has begun
    bpy.context.view_layer.objects.active = base
    bpy.ops.object.mode_set(mode="SCULPT")
    made()
    assert "made when you leave" in scene.reliefsmith.trouble
    bpy.ops.object.mode_set(mode="OBJECT")
    monkeypatch.undo()
    made()
    assert max(vertex.co.z for vertex in base.data.vertices) == pytest.approx(3.6)


def test_print_files_tell_when_the_scene_was_changed_by_hand(
    scene: Any, made: Any, tmp_path: Path, capfd: Any
) -> None:
    bpy.ops.reliefsmith.export(directory=str(tmp_path / "a"))
    assert "by hand" not in capfd.readouterr().out
    sculpt(parts(scene)["base"], 0.2)
    bpy.ops.reliefsmith.export(directory=str(tmp_path / "b"))
    assert "by hand you changed base: Write Scene writes that" in capfd.readouterr().out


def test_an_open_mesh_is_refused_shown_and_nothing_is_written(scene: Any, made: Any, tmp_path: Path) -> None:
    mesh = parts(scene)["base"].data
    corners = [vertex.co[:] for vertex in mesh.vertices][:3]
    mesh.clear_geometry()
    mesh.from_pydata(corners, [], [(0, 1, 2)])
    with pytest.raises(RuntimeError, match="nothing was written: base is not closed"):
        bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert list(tmp_path.iterdir()) == []
    assert "not-watertight" in [item.code for item in scene.reliefsmith.findings]


def test_a_piece_that_is_cut_open_is_not_written(scene: Any, made: Any, tmp_path: Path) -> None:
    scene.reliefsmith.cut = True
    made()
    with pytest.raises(RuntimeError, match="turn Look Inside off"):
        bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))


@pytest.mark.parametrize("name", ["export_scene", "export", "render_proofs"])
def test_without_a_folder_nothing_is_written(scene: Any, made: Any, name: str) -> None:
    with pytest.raises(RuntimeError, match="no folder is given"):
        getattr(bpy.ops.reliefsmith, name)()


def test_without_a_piece_there_is_nothing_to_write(scene: Any, tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="no piece to take"):
        bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))


def test_face_down_shows_the_finished_piece_and_writes_it_as_printed(
    scene: Any, made: Any, tmp_path: Path
) -> None:
    import reliefsmith as rs

    scene.reliefsmith.heights.style, scene.reliefsmith.heights.face = "flush", "down"
    made()
    assert scene.reliefsmith.trouble == ""
    recipe = rs.Recipe().with_values({"heights.style": "flush", "heights.face": "down"})
    relief = rs.make(LANTERN, recipe)
    shown = relief.parts_below(float("inf"), finished=True)
    for part in shown:
        found = np.array([vertex.co[:] for vertex in parts(scene)[part.name].data.vertices], np.float32)
        np.testing.assert_array_equal(found, part.vertices.astype(np.float32))
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    files = read(tmp_path)
    for part in relief.parts:
        written, there = files[part.name].vertices, part.vertices - low(relief.parts)
        for corner in ("min", "max"):
            ours, theirs = getattr(written, corner)(axis=0), getattr(there, corner)(axis=0)
            np.testing.assert_allclose(ours, theirs, atol=_GRID_AND_SINGLE_MM)
    scene.reliefsmith.as_printed = True
    made()
    for part in relief.parts:
        found = np.array([vertex.co[:] for vertex in parts(scene)[part.name].data.vertices], np.float32)
        np.testing.assert_array_equal(found, part.vertices.astype(np.float32))
    with pytest.raises(RuntimeError, match="Turn As Printed off first"):
        bpy.ops.reliefsmith.add_mark(kind="erase", at_mm=(0, 0))


@pytest.mark.parametrize(
    "style",
    [*(pytest.param(name, marks=pytest.mark.deep) for name in ("raised", "sunk")), "flush", "stepped"],
)
def test_each_style_is_shown_saved_and_comes_back(
    scene: Any, made: Any, tmp_path: Path, installed: str, style: str
) -> None:
    import reliefsmith as rs

    scene.reliefsmith.heights.style = style
    bpy.ops.reliefsmith.add_mark(kind="erase", at_mm=(0, 0))
    bpy.ops.reliefsmith.add_filament()
    made()
    properties = importlib.import_module(installed + ".properties")
    recipe = properties.to_recipe(scene.reliefsmith)
    assert recipe.heights.style == style
    relief = rs.make(LANTERN, recipe)
    path = str(tmp_path / "a.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    again = bpy.context.scene
    assert properties.to_recipe(again.reliefsmith) == recipe
    assert [row.name for row in again.reliefsmith.parts] == [part.name for part in relief.parts]
    assert len(again.reliefsmith.findings) == len(relief.findings)
    for part in relief.parts:
        found = np.array([vertex.co[:] for vertex in parts(again)[part.name].data.vertices], np.float32)
        np.testing.assert_array_equal(found, part.vertices.astype(np.float32))
    ids = {part: item.data.name for part, item in parts(again).items()}
    bpy.ops.reliefsmith.make()  # in the file as it was opened: the same datablocks again
    assert {part: item.data.name for part, item in parts(bpy.context.scene).items()} == ids


def hide(item: Any, way: str) -> None:
    """Hide an object in one of the ways Blender has."""
    owner = item.users_collection[0]
    relief = bpy.context.view_layer.layer_collection.children["Relief"]
    if way == "eye":
        item.hide_set(True)
    elif way == "screen":
        item.hide_viewport = True
    elif way == "collection":
        owner.hide_viewport = True
    else:
        relief.children[owner.name].exclude = True


@pytest.mark.parametrize(
    "way",
    ["eye", "collection", *(pytest.param(name, marks=pytest.mark.deep) for name in ("screen", "left out"))],
)
def test_hidden_parts_are_written_with_their_modifiers_and_stay_hidden(
    scene: Any, made: Any, tmp_path: Path, way: str
) -> None:
    name = next(item.name for item in scene.reliefsmith.parts if item.role == "motif")
    item = parts(scene)[name]
    push = item.modifiers.new("push", "DISPLACE")
    push.direction, push.strength, push.mid_level = "Z", 0.3, 0.0
    top = max(vertex.co.z for vertex in item.data.vertices) + 0.3
    hide(item, way)
    bpy.context.view_layer.update()
    assert not item.visible_get()
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert sorted(read(tmp_path)) == sorted(row.name for row in scene.reliefsmith.parts)
    assert read(tmp_path)[name].vertices[:, 2].max() == pytest.approx(top, abs=1e-3)
    assert not item.visible_get()
    others = [other for other in parts(scene).values() if other != item]
    assert all(other.visible_get() for other in others) == (way in ("eye", "screen"))


def test_the_selection_is_taken_only_when_asked_for(
    scene: Any, made: Any, tmp_path: Path, capfd: Any
) -> None:
    bpy.ops.mesh.primitive_cube_add()  # selected, as in the factory scene
    assert [item.name for item in bpy.context.selected_objects] == ["Cube"]
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert sorted(read(tmp_path)) == sorted(row.name for row in scene.reliefsmith.parts)
    bpy.ops.reliefsmith.check()
    assert scene.reliefsmith.checked == f"The whole piece checked: {len(scene.reliefsmith.parts)} objects"
    bpy.ops.reliefsmith.check(selected=True)
    assert scene.reliefsmith.checked == "Only the selection checked: 1 object"
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path / "one"), selected=True)
    assert "of the selection only" in capfd.readouterr().out
    assert sorted(read(tmp_path / "one")) == ["Cube"]
    bpy.ops.object.select_all(action="DESELECT")
    with pytest.raises(RuntimeError, match="no mesh in the selection"):
        bpy.ops.reliefsmith.check(selected=True)


def test_hand_work_of_a_vanished_color_is_no_part_of_the_piece(scene: Any, made: Any, tmp_path: Path) -> None:
    for item in parts(scene).values():
        sculpt(item, 0.2)
    scene.reliefsmith.colors.count = 2
    made()
    gone = [item for item in bpy.data.objects if item.get("reliefsmith_aside")]
    names = {row.name for row in scene.reliefsmith.parts}
    assert {item["reliefsmith_part"] for item in gone} - names
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert set(read(tmp_path)) == names


def test_check_tells_what_was_done_to_parts_and_where(scene: Any, made: Any) -> None:
    motif = next(item.name for item in scene.reliefsmith.parts if item.role == "motif")
    bpy.ops.reliefsmith.check()
    compared = {"part-moved", "part-tilted", "part-scaled", "part-taller", "off-layers", "solid-added"}
    assert not compared & {item.code for item in scene.reliefsmith.findings}
    item = parts(scene)[motif]

    def said() -> set[str]:
        bpy.ops.reliefsmith.check()
        return {found.code for found in scene.reliefsmith.findings if motif in found.message} & compared

    item.location.x = 0.05
    assert said() == {"part-moved"}
    item.location.x = 0.0
    item.rotation_euler.y = 0.02
    assert "part-tilted" in said()
    item.rotation_euler.y = 0.0
    item.scale = (2, 2, 1)
    assert "part-scaled" in said()
    item.scale = (1, 1, 1)
    assert said() == set()
    sculpt(item, 0.07)
    assert said() == {"part-taller", "off-layers"}


def test_a_piece_that_stands_elsewhere_is_the_same_piece(scene: Any, made: Any, tmp_path: Path) -> None:
    bpy.ops.reliefsmith.check()
    before = [(item.code, tuple(item.place)) for item in scene.reliefsmith.findings]
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path / "a"))
    for item in parts(scene).values():
        item.location, item.rotation_euler = (40, -25, 7), (0.3, 0.2, 1.0)
    bpy.ops.reliefsmith.check()
    after = [(item.code, tuple(item.place)) for item in scene.reliefsmith.findings]
    assert [code for code, _ in after] == [code for code, _ in before]
    for (_, one), (_, other) in zip(before, after, strict=True):
        assert other == pytest.approx(one, abs=0.02)
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path / "b"))
    written = read(tmp_path / "b")
    for name, part in read(tmp_path / "a").items():
        np.testing.assert_allclose(written[name].vertices, part.vertices, atol=1e-2)


@pytest.mark.parametrize("role", ["generated", "finish", "job"])
def test_what_else_lies_in_the_collections_is_taken_and_told(
    scene: Any, made: Any, tmp_path: Path, role: str
) -> None:
    place = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == role)
    bpy.ops.mesh.primitive_cube_add(size=2, location=(0, 0, 30))
    cube = bpy.context.object
    cube.users_collection[0].objects.unlink(cube)
    place.objects.link(cube)
    bpy.ops.reliefsmith.check()
    found = {item.code: item for item in scene.reliefsmith.findings}
    assert found["solid-added"].message.startswith("Cube is no part")
    assert found["island-in-air"].severity == "stop"
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    assert "Cube" in read(tmp_path)


@pytest.mark.deep
def test_remeshed_parts_are_no_stop(scene: Any, made: Any) -> None:
    scene.reliefsmith.size.width_mm = 10.0
    made()
    for item in parts(scene).values():
        remesh = item.modifiers.new("remesh", "REMESH")
        remesh.mode, remesh.voxel_size = "VOXEL", 0.12
    bpy.ops.reliefsmith.check()
    overlaps = [item for item in scene.reliefsmith.findings if item.code == "parts-overlap"]
    assert {item.severity for item in overlaps} <= {"note"}, [item.message for item in overlaps]
    moved = {"part-moved", "part-tilted", "part-scaled", "part-reshaped"}
    assert not moved & {item.code for item in scene.reliefsmith.findings}


def test_a_stale_copy_is_told_by_the_check(scene: Any, made: Any) -> None:
    copy = parts(scene)["base"].copy()
    copy.data = copy.data.copy()
    next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "finish").objects.link(copy)
    scene.reliefsmith.heights.base_mm = 3.6
    made()
    bpy.ops.reliefsmith.check()
    (stale,) = (item for item in scene.reliefsmith.findings if item.code == "copy-stale")
    assert stale.message.startswith(
        f"{copy.name} was made from other settings (heights.base_mm 2.0, now 3.6)"
    )
