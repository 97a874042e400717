"""The piece on its ring or pin: in its hole, of the hardware's size, and no part of what is checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

KITE = Path(__file__).parents[3] / "samples" / "kite.png"


def made(scene: Any, hardware: str) -> list[Any]:
    """The kite on what it hangs on; gives its points, an array for each object."""
    bpy.ops.reliefsmith.load_picture(filepath=str(KITE))
    scene.reliefsmith.hang.hardware = hardware
    scene.reliefsmith.show_hardware = True
    bpy.ops.reliefsmith.make()
    return shown(scene)


def shown(scene: Any) -> list[Any]:
    bpy.context.view_layer.update()
    items = [item for item in scene.objects if item.get("reliefsmith_stage") == "hardware"]
    meshes = [item.evaluated_get(bpy.context.view_layer.depsgraph).to_mesh() for item in items]
    return [np.array([vertex.co[:] for vertex in mesh.vertices]) for mesh in meshes]


def test_a_split_ring_passes_the_hole_and_meets_no_part(scene: Any) -> None:
    from mathutils import Vector
    from mathutils.bvhtree import BVHTree

    import reliefsmith as rs
    from reliefsmith.documents.holders import hardware_named

    turns = made(scene, "split-ring")
    ring, hole = hardware_named("split-ring"), rs.make(KITE).plan.hole
    assert len(turns) == ring.turns
    for points in turns:
        size = points.max(axis=0) - points.min(axis=0)
        assert size[1] == pytest.approx(ring.outer_mm, abs=0.05)
        assert hole.rest_mm[1] - hole.diameter_mm / 2 < points[:, 1].min() + ring.wire_mm <= hole.rest_mm[1]
    (base,) = (item for item in scene.objects if item.get("reliefsmith_part") == "base")
    tree = BVHTree.FromObject(base, bpy.context.view_layer.depsgraph)
    for points in turns:
        for point in points:
            near, normal, _, _ = tree.find_nearest(Vector(point))
            assert (Vector(point) - near).dot(normal) > -0.05  # outside the base


@pytest.mark.parametrize("hardware", ["jump-ring", "ball-chain", "cord", "strap", "screw", "magnet", "pin"])
def test_every_hardware_is_shown_at_its_place(scene: Any, hardware: str) -> None:
    found = made(scene, hardware)
    assert found
    points = np.concatenate(found)
    if hardware in ("magnet", "pin"):
        assert points[:, 2].max() < 2.0  # in the back of the base, under its top
    bpy.ops.reliefsmith.check()
    assert not [item.message for item in scene.reliefsmith.findings if "ardware" in item.message]
    assert scene.reliefsmith.checked.endswith(f"{len(scene.reliefsmith.parts)} objects")


def test_it_goes_when_it_is_not_wanted_and_comes_back_at_its_new_place(scene: Any, installed: str) -> None:
    import importlib

    flush = importlib.import_module(installed + ".run").pending.flush
    before = made(scene, "split-ring")[0]
    scene.reliefsmith.show_hardware = False
    flush()
    assert shown(scene) == []
    scene.reliefsmith.heights.base_mm = 4.0
    scene.reliefsmith.show_hardware = True
    flush()
    assert shown(scene)[0][:, 2].mean() == pytest.approx(before[:, 2].mean() + 1.0, abs=0.01)
