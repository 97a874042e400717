# SPDX-License-Identifier: GPL-3.0-or-later
"""The finished piece on what it hangs on: shown on its stage, never checked or printed."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.documents.holders import CORD, METAL, WEB
from reliefsmith.documents.hung import hung_solids

from . import bridge, materials, pieces, stage

_NAME = "hardware"
_SHADES = {"metal": METAL[1], "cord": CORD[1], "web": WEB[1]}


def show(piece: bpy.types.Collection, relief: Any) -> None:
    """Show what a piece hangs on, or take it away, as its state says."""
    for item in shown(piece):
        data = item.data
        bpy.data.objects.remove(item)
        bpy.data.meshes.remove(data)
    state = piece.reliefsmith
    if not state.show_hardware or state.cut or state.as_printed:
        return
    place = pieces.collection(piece, pieces.STAGE)
    for kind, vertices, triangles in hung_solids(relief.result):
        mesh = bpy.data.meshes.new("Relief hardware")
        bridge.fill(mesh, vertices, triangles)
        mesh.materials.append(_material(kind))
        item = bpy.data.objects.new("Relief hardware", mesh)
        item[stage.NAME], item.hide_select = _NAME, True
        place.objects.link(item)


def shown(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return the objects that a piece hangs on."""
    place = pieces.find(piece, pieces.STAGE)
    return [item for item in place.objects if item.get(stage.NAME) == _NAME] if place else []


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
