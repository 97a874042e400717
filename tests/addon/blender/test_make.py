"""The operator gives what the core gives: the same arrays, in the same places, under the same names."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"


def made(scene: Any, name: str = "lantern.png") -> list[Any]:
    """Make a sample by the operator; returns the objects in the generated collection."""
    recipe = SAMPLES / name.replace(".png", ".toml").replace(".jpg", ".toml")
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / name))
    bpy.ops.reliefsmith.load_recipe(filepath=str(recipe))
    assert bpy.ops.reliefsmith.make() == {"FINISHED"}
    return generated(scene)


def generated(scene: Any) -> list[Any]:
    """Return the objects that the add-on owns, by the custom property that marks them."""
    return [item for item in scene.objects if "reliefsmith_part" in item]


@pytest.mark.parametrize("name", ["kite.png", "lantern.png"])
def test_the_operator_equals_the_core(scene: Any, installed: str, name: str) -> None:
    import reliefsmith as rs

    bridge = importlib.import_module(installed + ".bridge")
    objects = made(scene, name)
    recipe = rs.Recipe.load(SAMPLES / name.replace(".png", ".toml"))
    parts = rs.make(SAMPLES / name, recipe).parts
    assert [item["reliefsmith_part"] for item in objects] == [part.name for part in parts]
    for item, part in zip(objects, parts, strict=True):
        vertices, triangles = bridge.read(item.data)
        np.testing.assert_array_equal(vertices, part.vertices.astype(np.float32))
        np.testing.assert_array_equal(triangles, part.triangles)
        assert not item.data.validate()
        assert np.allclose(item.matrix_world, np.eye(4))


def test_making_again_rewrites_the_same_datablocks(scene: Any) -> None:
    before = {item["reliefsmith_part"]: (item.name, item.data.name) for item in made(scene)}
    for item in generated(scene):
        item.name = "mine " + item.name
    scene.reliefsmith.heights.base_mm = 3.0
    bpy.ops.reliefsmith.make()
    after = {item["reliefsmith_part"]: (item.name, item.data.name) for item in generated(scene)}
    assert after == {part: ("mine " + name, mesh) for part, (name, mesh) in before.items()}


def test_the_finish_collection_is_never_touched(scene: Any) -> None:
    made(scene)
    finish = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "finish")
    mine = bpy.data.objects.new("base", None)
    finish.objects.link(mine)
    bpy.ops.reliefsmith.make()
    assert list(finish.objects) == [mine]


def test_colors_are_those_of_the_parts(scene: Any) -> None:
    import reliefsmith as rs

    objects = made(scene)
    parts = rs.make(SAMPLES / "lantern.png", rs.Recipe.load(SAMPLES / "lantern.toml")).parts
    for item, part in zip(objects, parts, strict=True):
        linear = np.array(item.data.materials[0].diffuse_color[:3])
        srgb = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
        assert np.rint(255 * srgb).astype(int).tolist() == list(part.color)


def test_an_empty_scene_is_set_to_millimeters(scene: Any) -> None:
    made(scene)
    assert scene.unit_settings.scale_length == pytest.approx(0.001)
    assert scene.unit_settings.length_unit == "MILLIMETERS"


def test_a_scene_with_objects_keeps_its_units(scene: Any) -> None:
    scene.collection.objects.link(bpy.data.objects.new("mine", None))
    made(scene)
    assert scene.unit_settings.scale_length == pytest.approx(1.0)


def test_undo_takes_the_parts_away(scene: Any) -> None:
    bpy.ops.ed.undo_push(message="before")
    made(scene)
    bpy.ops.ed.undo_push(message="made")
    assert generated(bpy.context.scene)
    bpy.ops.ed.undo()
    assert not generated(bpy.context.scene)


def test_without_a_picture_the_operator_says_what_to_do(scene: Any) -> None:
    with pytest.raises(RuntimeError, match="Load a picture first"):
        bpy.ops.reliefsmith.make()


def test_a_missing_picture_is_refused_and_the_scene_stays(scene: Any) -> None:
    scene.reliefsmith.picture = "/nowhere/kite.png"
    with pytest.raises(RuntimeError, match="kite"):
        bpy.ops.reliefsmith.make()
    assert not generated(scene)
    assert len(scene.collection.children) == 0


def test_a_text_is_refused_in_one_line(scene: Any, tmp_path: Path) -> None:
    fake = tmp_path / "fake.png"
    fake.write_text("no picture")
    scene.reliefsmith.picture = str(fake)
    with pytest.raises(RuntimeError) as caught:
        bpy.ops.reliefsmith.make()
    assert len(str(caught.value).strip().splitlines()) == 1


def test_print_files_are_written(scene: Any, tmp_path: Path) -> None:
    made(scene)
    out = tmp_path / "out"
    assert bpy.ops.reliefsmith.export(directory=str(out)) == {"FINISHED"}
    assert (out / "lantern-report.json").is_file()
    assert (out / "lantern.3mf").is_file()
