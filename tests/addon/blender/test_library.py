"""Filaments as an asset library: written, taken into another scene, and written as the color of a part."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def parts(scene: Any) -> dict[str, Any]:
    return {item["reliefsmith_part"]: item for item in scene.objects if "reliefsmith_part" in item}


def test_the_library_holds_every_finish_and_leaves_the_file_as_it_is(scene: Any, tmp_path: Path) -> None:
    from reliefsmith.recipe.tables import FINISHES

    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN))
    bpy.ops.reliefsmith.make()
    before = set(bpy.data.materials)
    catalogs = tmp_path / "blender_assets.cats.txt"
    catalogs.write_text("VERSION 1\n\n11111111-1111-1111-1111-111111111111:Mine:Mine\n")
    for _ in range(2):  # a second time it is written over, and its catalogs are not doubled
        bpy.ops.reliefsmith.write_library(filepath=str(tmp_path / "filaments.blend"))
    assert set(bpy.data.materials) == before
    lines = catalogs.read_text().splitlines()
    assert sum("Filaments/" in line for line in lines) == len(FINISHES)
    assert "11111111-1111-1111-1111-111111111111:Mine:Mine" in lines
    with bpy.data.libraries.load(str(tmp_path / "filaments.blend"), assets_only=True) as (source, _):
        names = list(source.materials)
    for row in scene.reliefsmith.parts:
        assert {f"{row.name.capitalize()}, {finish}" for finish in FINISHES} <= set(names)
    assert "White, matte" in names


def test_a_material_of_the_library_is_the_artists_choice(scene: Any, tmp_path: Path) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN))
    bpy.ops.reliefsmith.make()
    path = tmp_path / "filaments.blend"
    bpy.ops.reliefsmith.write_library(filepath=str(path))
    with bpy.data.libraries.load(str(path), link=False) as (_, target):
        target.materials = ["White, matte"]
    (white,) = target.materials
    name = scene.reliefsmith.parts[1].name
    parts(scene)[name].data.materials[0] = white
    bpy.ops.reliefsmith.make()
    scene.reliefsmith.finish = "silk"
    assert parts(scene)[name].data.materials[0] == white
    color_of = importlib.import_module("bl_ext.user_default.reliefsmith.materials").color_of
    assert color_of(parts(scene)[name]) == (0xF4, 0xF4, 0xF0)


def test_a_material_of_another_part_stays_where_the_artist_put_it(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(LANTERN))
    bpy.ops.reliefsmith.make()
    one, other = (row.name for row in scene.reliefsmith.parts[:2])
    material = parts(scene)[one].data.materials[0]
    parts(scene)[other].data.materials[0] = material
    bpy.ops.reliefsmith.make()
    assert parts(scene)[other].data.materials[0] == material


def test_the_open_file_is_not_written_over(scene: Any, tmp_path: Path) -> None:
    path = tmp_path / "mine.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    with pytest.raises(RuntimeError, match="this is the file that is open"):
        bpy.ops.reliefsmith.write_library(filepath=str(path))
