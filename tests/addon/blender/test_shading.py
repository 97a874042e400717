"""Parts are shaded as they are: flat tops flat, arcs round, edges sharp."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"
_ONE_DEG = np.sin(np.radians(1.0))


def normals(mesh: Any) -> tuple[Any, Any]:
    """The normal of each corner (n, 3) and of its face (n, 3)."""
    corner, face = np.empty(3 * len(mesh.loops), np.float32), np.empty(3 * len(mesh.polygons), np.float32)
    mesh.corner_normals.foreach_get("vector", corner)
    mesh.polygons.foreach_get("normal", face)
    sizes = [polygon.loop_total for polygon in mesh.polygons]
    return corner.reshape(-1, 3), np.repeat(face.reshape(-1, 3), sizes, axis=0)


def assert_shaded(scene: Any) -> None:
    meshes = [item.data for item in scene.objects if "reliefsmith_part" in item]
    bent = 0
    for mesh in meshes:
        corner, face = normals(mesh)
        level, upright = np.abs(face[:, 2]) > 0.9999, np.abs(face[:, 2]) < 1e-4
        assert level.any()
        assert upright.any()
        off = np.linalg.norm(np.cross(corner, face), axis=1)  # the sine of the angle between them
        assert off[level].max() < _ONE_DEG
        assert np.abs(corner[upright, 2]).max() < _ONE_DEG
        bent += int((off[upright] > _ONE_DEG).sum())
    assert bent > 100  # arcs are not faceted


@pytest.mark.parametrize("name", ["lantern.png", "kite.png"])
@pytest.mark.parametrize("style", ["raised", "flush"])
def test_flat_tops_are_flat_and_walls_round(scene: Any, installed: str, name: str, style: str) -> None:
    scene.reliefsmith.heights.style = style
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / name))
    bpy.ops.reliefsmith.make()
    assert_shaded(scene)
    scene.reliefsmith.heights.base_mm = 3.6  # in place
    importlib.import_module(installed + ".run").pending.flush()
    assert scene.reliefsmith.trouble == ""
    assert_shaded(scene)


def test_flat_tops_inside_a_chamfer_are_flat(scene: Any) -> None:
    scene.reliefsmith.heights.top = "chamfer"
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    assert_shaded(scene)
    faces = [normals(item.data)[1] for item in scene.objects if "reliefsmith_part" in item]
    assert any(((face[:, 2] > 0.1) & (face[:, 2] < 0.99)).any() for face in faces)  # there is a chamfer


def test_parts_of_an_older_file_are_shaded_when_they_are_made(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    for item in (item for item in scene.objects if "reliefsmith_part" in item):
        for name in ("sharp_face", "sharp_edge"):
            item.data.attributes.remove(item.data.attributes[name])
    with pytest.raises(AssertionError):
        assert_shaded(scene)
    bpy.ops.reliefsmith.make()
    assert_shaded(scene)
