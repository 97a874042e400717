"""Commands that take a place, look inside, check and turn: each equals the core, and says why it refuses."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"
LANTERN = SAMPLES / "lantern.png"


def parts(scene: Any) -> dict[str, Any]:
    return {item["reliefsmith_part"]: item for item in scene.objects if "reliefsmith_part" in item}


def vertices(item: Any) -> Any:
    return np.array([vertex.co[:] for vertex in item.data.vertices], np.float32)


@pytest.mark.parametrize("name", ["place_hole", "add_mark", "pick_color", "pick_part", "turntable"])
def test_before_a_run_a_command_says_what_is_missing(scene: Any, name: str) -> None:
    with pytest.raises(RuntimeError, match="Make the relief first"):
        getattr(bpy.ops.reliefsmith, name)()


def test_a_placed_hole_equals_the_cores(scene: Any, made: Any) -> None:
    import reliefsmith as rs

    bpy.ops.reliefsmith.place_hole(at_mm=(3.0, 20.0))
    made()
    relief = rs.make(LANTERN, rs.Recipe().with_values({"hang.at_mm": [3.0, 20.0]}))
    for part in relief.parts:
        np.testing.assert_array_equal(vertices(parts(scene)[part.name]), part.vertices.astype(np.float32))


def test_a_mark_equals_the_cores_and_goes_again(scene: Any, made: Any) -> None:
    import reliefsmith as rs

    before = {name: vertices(item) for name, item in parts(scene).items()}
    bpy.ops.reliefsmith.add_mark(kind="recolor", color="#1e8a8a", at_mm=(0, 0))
    made()
    mark = {"kind": "recolor", "at_mm": [0, 0], "value": "#1e8a8a"}
    relief = rs.make(LANTERN, rs.Recipe().with_values({"marks": [mark]}))
    assert list(parts(scene)) == [part.name for part in relief.parts]
    bpy.ops.reliefsmith.remove_row(what="marks", index=0)
    made()
    after = {name: vertices(item) for name, item in parts(scene).items()}
    assert list(after) == list(before)
    assert all(np.array_equal(after[name], before[name]) for name in before)
    with pytest.raises(RuntimeError, match="no entry 1"):
        bpy.ops.reliefsmith.remove_row(what="marks", index=0)


def test_every_kind_of_mark_is_added_with_its_value(scene: Any, made: Any, installed: str) -> None:
    from reliefsmith.recipe.tables import MARK_KINDS

    properties = importlib.import_module(installed + ".properties")
    scene.reliefsmith.live = False
    scene.reliefsmith.mark_color = (1.0, 0.0, 0.0)
    kinds = {
        name: kind for name, kind in MARK_KINDS.items() if kind.point
    }  # the others need more than a click
    for number, (name, kind) in enumerate(kinds.items()):
        bpy.ops.reliefsmith.add_mark(kind=name, at_mm=(number, 1))
        mark = properties.to_recipe(scene.reliefsmith).marks[-1]
        assert (mark.kind, mark.at_mm) == (name, (number, 1))
        assert (mark.value is None) == (not kind.needs_value)
        if kind.value == "color" and kind.needs_value:
            assert mark.value == "#ff0000"
    scene.reliefsmith.mark_has_value = True
    for name, kind in kinds.items():
        bpy.ops.reliefsmith.add_mark(kind=name, at_mm=(0, 0))
        mark = properties.to_recipe(scene.reliefsmith).marks[-1]
        assert (mark.value is None) == (kind.value == "")
        if kind.value == "mm":
            assert kind.low <= mark.value <= kind.high
            bpy.ops.reliefsmith.add_mark(kind=name, at_mm=(0, 0), value_mm=2.35)
            assert properties.to_recipe(scene.reliefsmith).marks[-1].value == 2.35


def test_a_color_is_picked_where_it_lies(scene: Any, made: Any, installed: str) -> None:
    import reliefsmith as rs

    color = rs.make(LANTERN).areas.color_at(0, 0)
    assert color is not None
    bpy.ops.reliefsmith.pick_color(role="base", at_mm=(0, 0))
    properties = importlib.import_module(installed + ".properties")
    assert properties.to_recipe(scene.reliefsmith).colors.base == "#{:02x}{:02x}{:02x}".format(*color)
    bpy.ops.reliefsmith.pick_color(role="background", at_mm=(0, 0))
    found = properties.to_recipe(scene.reliefsmith).background.color
    assert found == "#{:02x}{:02x}{:02x}".format(*color)
    with pytest.raises(RuntimeError, match="background at that place"):
        bpy.ops.reliefsmith.pick_color(role="omit", at_mm=(500, 500))


def test_a_drawing_is_read_as_the_core_reads_it(scene: Any, installed: str, tmp_path: Path) -> None:
    import reliefsmith as rs

    path = tmp_path / "lamp.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 60"><rect width="80" height="60" rx="9" '
        'fill="#1b2a49"/><circle cx="40" cy="30" r="20" fill="#f2c14e"/></svg>'
    )
    bpy.ops.reliefsmith.load_picture(filepath=str(path))
    assert bpy.ops.reliefsmith.make() == {"FINISHED"}
    for part in rs.make(path).parts:
        np.testing.assert_array_equal(vertices(parts(scene)[part.name]), part.vertices.astype(np.float32))


def test_a_part_is_picked_by_name(scene: Any, made: Any) -> None:
    bpy.ops.reliefsmith.pick_part(part="base")
    assert [item["reliefsmith_part"] for item in bpy.context.selected_objects] == ["base"]
    with pytest.raises(RuntimeError, match="no part 'x'"):
        bpy.ops.reliefsmith.pick_part(part="x")


def test_looking_inside_shows_the_cores_parts_cut_off(scene: Any, made: Any) -> None:
    import reliefsmith as rs

    scene.reliefsmith.cut_mm = 2.3
    scene.reliefsmith.cut = True
    made()
    for part in rs.make(LANTERN).parts_below(float(np.float32(2.3))):
        np.testing.assert_array_equal(vertices(parts(scene)[part.name]), part.vertices.astype(np.float32))


def test_a_finding_selects_the_part_there(scene: Any, made: Any) -> None:
    item = scene.reliefsmith.findings.add()
    item.has_place, item.place = True, (0, 0, 2.6)
    bpy.ops.reliefsmith.show_finding(index=len(scene.reliefsmith.findings) - 1)
    (chosen,) = bpy.context.selected_objects
    assert bpy.context.view_layer.objects.active == chosen
    assert chosen["reliefsmith_part"] in scene.reliefsmith.parts
    assert scene.reliefsmith.finding == len(scene.reliefsmith.findings) - 1


def test_the_check_finds_what_the_core_finds_on_the_objects(scene: Any, made: Any) -> None:
    assert bpy.ops.reliefsmith.check() == {"FINISHED"}
    assert "not-watertight" not in [item.code for item in scene.reliefsmith.findings]
    mesh = parts(scene)["base"].data
    bridge_less = vertices(parts(scene)["base"])[:3]
    mesh.clear_geometry()
    mesh.from_pydata(bridge_less.tolist(), [], [(0, 1, 2)])
    bpy.ops.reliefsmith.check()
    assert "not-watertight" in [item.code for item in scene.reliefsmith.findings]


def test_there_must_be_something_to_check(scene: Any) -> None:
    with pytest.raises(RuntimeError, match="no piece to take"):
        bpy.ops.reliefsmith.check()


def test_the_turntable_is_set_up_once_and_shows_true_colors(scene: Any, made: Any) -> None:
    bpy.ops.reliefsmith.turntable()
    count = len(bpy.data.objects)
    bpy.ops.reliefsmith.turntable()
    assert len(bpy.data.objects) == count
    assert scene.view_settings.view_transform == "Standard"
    assert scene.camera is not None


def test_proofs_are_rendered_from_all_round(scene: Any, made: Any, tmp_path: Path) -> None:
    engine = scene.render.engine
    assert bpy.ops.reliefsmith.render_proofs(directory=str(tmp_path), count=2, size=96) == {"FINISHED"}
    first, second = sorted(tmp_path.glob("*.png"))
    assert first.name == "lantern-turn-01.png"
    assert first.read_bytes() != second.read_bytes()
    assert scene.render.engine == engine


def test_a_fault_of_ours_is_one_reported_line(
    scene: Any, made: Any, installed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = importlib.import_module(installed + ".run")

    def fail(_scene: Any) -> Any:
        raise ZeroDivisionError("two\nlines")

    monkeypatch.setattr(run, "steps", fail)
    with pytest.raises(RuntimeError) as caught:
        bpy.ops.reliefsmith.make()
    assert "ZeroDivisionError two lines; please report it" in str(caught.value)
    assert "Traceback" not in str(caught.value)
    monkeypatch.setattr(run.pending, "begin", fail)
    scene.reliefsmith.heights.base_mm = 3.2
    made()
    assert "please report it" in scene.reliefsmith.trouble


def test_undo_of_a_setting_makes_the_piece_as_it_was(scene: Any, made: Any) -> None:
    bpy.ops.ed.undo_push(message="made")
    before = vertices(parts(scene)["base"])[:, 2].max()
    scene.reliefsmith.heights.base_mm = 4.0
    bpy.ops.ed.undo_push(message="height")
    made()
    assert vertices(parts(bpy.context.scene)["base"])[:, 2].max() > before
    bpy.ops.ed.undo()
    made()
    assert vertices(parts(bpy.context.scene)["base"])[:, 2].max() == before


def test_from_a_picture_to_checked_files(scene: Any, made: Any, tmp_path: Path) -> None:
    """Picture, parts, a mark, other border, heights and hole, check, export, and the check of the file."""
    state = scene.reliefsmith
    bpy.ops.reliefsmith.add_mark(kind="erase", at_mm=(0, 0))
    state.base.border_mm = 1.6
    state.heights.base_mm, state.heights.motif_mm = 2.4, 0.8
    made()
    assert state.trouble == ""
    bpy.ops.reliefsmith.place_hole(at_mm=(0.0, 31.0))
    made()
    assert state.trouble == ""
    assert vertices(parts(scene)["base"])[:, 2].max() == pytest.approx(2.4)
    bpy.ops.reliefsmith.check()
    assert "stop" not in [item.severity for item in state.findings]
    assert bpy.ops.reliefsmith.export(directory=str(tmp_path)) == {"FINISHED"}
    from reliefsmith.jobs.checking import check_files

    found = check_files([tmp_path / "lantern.3mf"])
    assert [item.code for item in found if str(item.severity) == "stop"] == []
    assert sorted(item.code for item in found) == sorted(item.code for item in state.findings)
