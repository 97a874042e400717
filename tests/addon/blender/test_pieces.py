"""Several pieces in one file, each with its own state, and files that were moved or appended."""

from __future__ import annotations

import importlib
import shutil
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"
LAMP = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 60"><rect width="80" height="60" rx="9" '
    'fill="#1b2a49"/><circle cx="40" cy="30" r="20" fill="#f2c14e"/></svg>'
)


@pytest.fixture
def flush(installed: str) -> Any:
    """Finishes what waits."""
    return importlib.import_module(installed + ".run").pending.flush


def pieces() -> list[Any]:
    found = bpy.context.scene.collection.children_recursive
    return [item for item in found if item.get("reliefsmith_role") == "job"]


def parts(piece: Any) -> dict[str, Any]:
    return {item["reliefsmith_part"]: item for item in piece.all_objects if "reliefsmith_part" in item}


def shapes(piece: Any) -> dict[str, Any]:
    return {
        name: np.array([vertex.co[:] for vertex in item.data.vertices], np.float32)
        for name, item in parts(piece).items()
    }


def assert_same(found: dict[str, Any], expected: dict[str, Any]) -> None:
    assert found.keys() == expected.keys()
    for name, shape in found.items():
        np.testing.assert_array_equal(shape, expected[name])


def make(picture: Path) -> Any:
    """A new piece of a picture, made."""
    bpy.ops.reliefsmith.new_piece()
    bpy.ops.reliefsmith.load_picture(filepath=str(picture))
    bpy.ops.reliefsmith.make()
    return pieces()[-1]


def test_each_piece_has_its_own_state_and_the_active_object_says_which_is_meant(
    scene: Any, flush: Any
) -> None:
    lantern, kite = make(SAMPLES / "lantern.png"), make(SAMPLES / "kite.png")
    assert [Path(item.reliefsmith.picture).stem for item in (lantern, kite)] == ["lantern", "kite"]
    before = shapes(kite)
    bpy.context.view_layer.objects.active = parts(lantern)["base"]
    assert scene.reliefsmith == lantern.reliefsmith
    scene.reliefsmith.heights.base_mm = 3.6
    flush()
    assert shapes(lantern)["base"][:, 2].max() == pytest.approx(3.6)
    assert_same(shapes(kite), before)
    bpy.context.view_layer.objects.active = parts(kite)["base"]
    assert scene.reliefsmith == kite.reliefsmith
    assert scene.reliefsmith.heights.base_mm == pytest.approx(2.0)


def test_pieces_that_are_changed_in_one_moment_are_all_made(scene: Any, flush: Any) -> None:
    both = [make(SAMPLES / "lantern.png"), make(SAMPLES / "kite.png")]
    for piece in both:
        piece.reliefsmith.heights.base_mm = 3.6
    flush()
    assert [shapes(piece)["base"][:, 2].max() for piece in both] == pytest.approx([3.6, 3.6])


def test_check_and_files_are_of_one_piece(scene: Any, tmp_path: Path) -> None:
    from reliefsmith.formats import read_parts

    make(SAMPLES / "kite.png")
    lantern = make(SAMPLES / "lantern.png")
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path))
    names = [part.name for part in read_parts(tmp_path / "lantern-finish.3mf")]
    assert sorted(names) == sorted(parts(lantern))


def test_what_is_set_before_the_first_picture_goes_into_the_first_piece(scene: Any) -> None:
    scene.reliefsmith.base.border_mm = 1.75
    scene.reliefsmith.marks.add()
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    (piece,) = pieces()
    assert piece.reliefsmith.base.border_mm == pytest.approx(1.75)
    assert len(piece.reliefsmith.marks) == 1
    bpy.ops.reliefsmith.new_piece()
    assert scene.reliefsmith.base.border_mm != pytest.approx(1.75)


def test_an_appended_piece_brings_its_state_and_is_made_anew_beside_another(
    scene: Any, flush: Any, tmp_path: Path
) -> None:
    picture = shutil.copy(SAMPLES / "lantern.png", tmp_path / "lamp.png")
    piece = make(Path(picture))
    piece.reliefsmith.heights.base_mm = 3.6
    flush()
    expected = shapes(piece)
    file = str(tmp_path / "day.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    Path(picture).unlink()
    kite = make(SAMPLES / "kite.png")
    with bpy.data.libraries.load(file, link=False) as (source, target):
        target.collections = [name for name in source.collections if name.startswith("Relief")]
    bpy.context.scene.collection.children.link(target.collections[0])
    (appended,) = [item for item in pieces() if item != kite]
    assert_same(shapes(appended), expected)
    bpy.context.view_layer.objects.active = parts(appended)["base"]
    assert bpy.context.scene.reliefsmith == appended.reliefsmith
    before = shapes(kite)
    bpy.context.scene.reliefsmith.heights.base_mm = 3.0  # the copy of the picture came along
    flush()
    assert appended.reliefsmith.trouble == ""
    assert shapes(appended)["base"][:, 2].max() == pytest.approx(3.0)
    assert_same(shapes(kite), before)


@pytest.mark.parametrize("name", ["lamp.png", "lamp.svg"])
def test_a_moved_file_works_from_the_copy_that_it_holds(
    scene: Any, flush: Any, tmp_path: Path, name: str
) -> None:
    picture = tmp_path / "here" / name
    picture.parent.mkdir()
    if name.endswith("svg"):
        picture.write_text(LAMP)
    else:
        shutil.copy(SAMPLES / "lantern.png", picture)
    expected = shapes(make(picture))
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "here" / "day.blend"))
    shutil.move(tmp_path / "here", tmp_path / "there")
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "there" / "day.blend"))
    (piece,) = pieces()
    piece.reliefsmith.heights.base_mm = 3.6
    flush()
    assert piece.reliefsmith.trouble == ""
    assert shapes(piece)["base"][:, 2].max() == pytest.approx(3.6)
    piece.reliefsmith.heights.base_mm = 2.0
    flush()
    assert_same(shapes(piece), expected)
    bpy.ops.reliefsmith.export(directory=str(tmp_path / "out"))
    assert (tmp_path / "out" / "lamp.3mf").is_file()  # it keeps its name


def test_a_picture_beside_the_file_moves_with_it(scene: Any, flush: Any, tmp_path: Path) -> None:
    picture = tmp_path / "here" / "art" / "lamp.png"
    picture.parent.mkdir(parents=True)
    shutil.copy(SAMPLES / "lantern.png", picture)
    piece = make(picture)
    piece.reliefsmith.picture_place = "beside"
    assert piece.reliefsmith.image.packed_file is None
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "here" / "day.blend"))
    assert Path(piece.reliefsmith.picture.removeprefix("//")) == Path("art/lamp.png")
    shutil.move(tmp_path / "here", tmp_path / "there")
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "there" / "day.blend"))
    (piece,) = pieces()
    assert bpy.ops.reliefsmith.make() == {"FINISHED"}
    shutil.rmtree(tmp_path / "there" / "art")
    with pytest.raises(RuntimeError, match=r"there is no picture at .*lamp\.png"):
        bpy.ops.reliefsmith.make()


def test_a_changed_file_is_read_anew(scene: Any, tmp_path: Path) -> None:
    picture = tmp_path / "lamp.png"
    shutil.copy(SAMPLES / "lantern.png", picture)
    piece = make(picture)
    shutil.copy(SAMPLES / "kite.png", picture)
    bpy.ops.reliefsmith.make()
    assert piece.reliefsmith.image.packed_file.data == (SAMPLES / "kite.png").read_bytes()
