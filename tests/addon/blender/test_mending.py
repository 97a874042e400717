"""Open meshes are mended only when asked for, what was done is said, and undo brings them back."""

from __future__ import annotations

import importlib
from typing import Any

import bpy
import byhand
import numpy as np
import pytest

pytestmark = pytest.mark.blender


@pytest.fixture
def opened(made: Any, installed: str) -> Any:
    """A motif with one face of its underside missing and another one turned round; gives its object."""
    bridge = importlib.import_module(f"{installed}.bridge")
    item = byhand.part(byhand.motif())
    vertices, triangles = bridge.read(item.data)
    triangles = triangles.copy()
    sizes = np.ptp(vertices[triangles], axis=1).max(axis=1)
    smallest = np.argsort(sizes)
    triangles[smallest[1]] = triangles[smallest[1]][::-1]
    bridge.fill(item.data, vertices, np.delete(triangles, smallest[0], axis=0))
    return item


def codes() -> list[str]:
    return [item.code for item in bpy.context.scene.reliefsmith.findings]


def test_an_open_mesh_is_mended_and_said_and_undone(opened: Any) -> None:
    name, faces = opened.name, len(opened.data.polygons)
    others = {item.name: byhand.places(item) for item in byhand.place("generated").objects if item != opened}
    bpy.ops.reliefsmith.check()
    assert "not-watertight" in codes()
    bpy.ops.ed.undo_push(message="opened")
    assert bpy.ops.reliefsmith.mend() == {"FINISHED"}
    (said,) = [item.message for item in bpy.context.scene.reliefsmith.findings]
    assert f"{name} was repaired" in said
    assert "1 tiny holes filled" in said
    assert "Then it is closed." in said
    assert len(bpy.data.objects[name].data.polygons) > faces
    for other, places in others.items():
        np.testing.assert_array_equal(byhand.places(bpy.data.objects[other]), places)
    bpy.ops.ed.undo_push(message="mended")
    bpy.ops.reliefsmith.check()
    assert "not-watertight" not in codes()
    bpy.ops.ed.undo()
    assert len(bpy.data.objects[name].data.polygons) == faces


def test_closed_meshes_are_not_touched(made: Any) -> None:
    before = [byhand.places(item) for item in byhand.place("generated").objects]
    assert bpy.ops.reliefsmith.mend() == {"CANCELLED"}
    for item, places in zip(byhand.place("generated").objects, before, strict=True):
        np.testing.assert_array_equal(byhand.places(item), places)


def test_a_mesh_with_shape_keys_or_a_large_hole_is_said_to_stay_open(opened: Any, installed: str) -> None:
    opened.shape_key_add(name="Basis")
    faces = len(opened.data.polygons)
    bpy.ops.reliefsmith.mend()
    (said,) = [item.message for item in bpy.context.scene.reliefsmith.findings]
    assert "has shape keys or levels" in said
    assert len(opened.data.polygons) == faces
    sheet = bpy.data.objects.new("sheet", bpy.data.meshes.new("sheet"))
    sheet.data.from_pydata([(0, 0, 5), (9, 0, 5), (0, 9, 5), (0, 0, 5)], [], [(0, 1, 2), (3, 2, 1)])
    bpy.context.scene.collection.objects.link(sheet)
    bpy.context.view_layer.update()
    for item in bpy.context.view_layer.objects:
        item.select_set(item == sheet)
    bpy.ops.reliefsmith.mend(selected=True)
    assert all("sheet" in item.message for item in bpy.context.scene.reliefsmith.findings)


def test_the_later_of_two_that_were_set_aside_stands_for_the_part(made: Any, installed: str) -> None:
    """Both would be printed in one place; the earlier one stays, is left out, and the panel says so."""
    finish, standing = (importlib.import_module(f"{installed}.{name}") for name in ("finish", "standing"))
    state, shapes = bpy.context.scene.reliefsmith, []
    for base_mm in (2.4, 3.2):
        shapes.append(byhand.sculpt(byhand.part(byhand.motif())))
        state.heights.base_mm = base_mm
        made()
    pieces = importlib.import_module(f"{installed}.pieces")
    piece = pieces.current(bpy.context.scene)
    first, second = (byhand.kept(shape)[0] for shape in shapes)
    assert finish.later(piece, first) == second
    assert finish.later(piece, second) is None
    taken = standing.meshes(piece, bpy.context.view_layer)
    assert second in taken
    assert first not in taken
    assert len([item for item in taken if item["reliefsmith_part"] == byhand.motif()]) == 1
