# SPDX-License-Identifier: GPL-3.0-or-later
"""What a piece hangs on and what is printed beside it: shown on its stage, never checked."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.documents.holders import CORD, METAL, WEB
from reliefsmith.documents.hung import hung_solids

from . import bridge, materials, pieces, stage
from .shading import Look

_HARDWARE, _ACCESSORY = "hardware", "accessory"
_SHADES = {"metal": METAL[1], "cord": CORD[1], "web": WEB[1]}


def show(piece: bpy.types.Collection, relief: Any) -> None:
    """Show what a piece hangs on and what goes with it, or take it away, as its state says."""
    for item in shown(piece):
        data = item.data
        bpy.data.objects.remove(item)
        bpy.data.meshes.remove(data)
    state = piece.reliefsmith
    if state.show_hardware and not (state.cut or state.as_printed):
        for kind, vertices, triangles in hung_solids(relief.result):
            item = _added(piece, _HARDWARE, "hardware", vertices, triangles)
            item.data.materials.append(_material(kind))
    if state.show_accessories and not state.cut:
        _lay_out(piece, relief)


def _lay_out(piece: bpy.types.Collection, relief: Any) -> None:
    """Lay what goes with a piece beside it as it is printed, each copy right of the one before."""
    apart = relief.result.recipe.beds.spacing_mm
    _, low, right, _ = relief.plan.whole.bounds
    for accessory in relief.result.accessories:
        (x0, y0, _), (x1, _, _) = accessory.bounds
        for _ in range(accessory.copies):
            for part in accessory.parts:
                item = _added(piece, _ACCESSORY, accessory.name, part.vertices, part.triangles)
                item.location = right + apart - x0, low - y0, 0.0
                item.hide_render = True  # proofs show the piece
                materials.paint(item, part.color, Look())
            right += apart + x1 - x0


def _added(
    piece: bpy.types.Collection, kind: str, name: str, vertices: Any, triangles: Any
) -> bpy.types.Object:
    mesh = bpy.data.meshes.new(f"Relief {name}")
    bridge.fill(mesh, vertices, triangles)
    item = bpy.data.objects.new(mesh.name, mesh)
    item[stage.NAME], item.hide_select = kind, True
    pieces.collection(piece, pieces.STAGE).objects.link(item)
    return item


def shown(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return the objects that a piece hangs on, and that go with it."""
    place = pieces.find(piece, pieces.STAGE)
    return (
        [item for item in place.objects if item.get(stage.NAME) in (_HARDWARE, _ACCESSORY)] if place else []
    )


def _material(kind: str) -> bpy.types.Material:
    for item in bpy.data.materials:
        if item.get(stage.NAME) == kind and item.library is None:
            return item
    made = bpy.data.materials.new(f"Relief {kind}")
    made[stage.NAME] = kind
    if made.node_tree is None:
        made.use_nodes = True
    made.diffuse_color = rgba = (*materials.linear(_SHADES[kind]), 1.0)
    shader = next(node for node in made.node_tree.nodes if node.type == "BSDF_PRINCIPLED")
    shader.inputs["Base Color"].default_value = rgba
    shader.inputs["Metallic"].default_value = 1.0 if kind == "metal" else 0.0
    shader.inputs["Roughness"].default_value = 0.35 if kind == "metal" else 0.9
    return made
