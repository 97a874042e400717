# SPDX-License-Identifier: GPL-3.0-or-later
"""Materials by filament color and finish, and colors in the view; those of the artist stay."""

from __future__ import annotations

from collections.abc import Sequence

import bpy
import numpy as np

PLAIN = "matte"
_COLOR = "reliefsmith_color"
_ROUGHNESS = {"matte": 0.75, "gloss": 0.25, "silk": 0.35, "clear": 0.15}  # by finish, judged by eye
_SLACK = 1e-5
_UNSET = (1.0, 1.0, 1.0, 1.0)  # the color in the view that Blender begins with


def paint(item: bpy.types.Object, color: tuple[int, int, int], finish: str) -> None:
    """Give a part its material and its color in the view, where the artist gave it no others."""
    material, own = _material(color, finish), is_own_color(item)
    if not item.data.materials:
        item.data.materials.append(material)
    elif item.data.materials[0] != material and not is_own(item):
        item.data.materials[0] = material
    if not own:
        item.color, item[_COLOR] = (*linear(color), 1.0), "#{:02x}{:02x}{:02x}".format(*color)


def is_painted(item: bpy.types.Object) -> bool:
    """Return whether material or color in the view are the artist's."""
    return is_own(item) or is_own_color(item)


def is_own_color(item: bpy.types.Object) -> bool:
    """Return whether the color in the view is the artist's; in an older file ours is that of the material."""
    found = item.data.materials[0] if item.data.materials else None
    ours = item.get(_COLOR) or (found.get(_COLOR, "") if found is not None else "").partition(" ")[0]
    if not ours:
        return tuple(item.color) != _UNSET
    rgba = (*linear(tuple(bytes.fromhex(ours[1:]))), 1.0)
    return not np.allclose(item.color, rgba, atol=_SLACK)


def is_own(item: bpy.types.Object) -> bool:
    """Return whether the material of a part is the artist's: another one, or one of ours that was edited."""
    found = item.data.materials[0] if item.data.materials else None
    if found is None:
        return False
    color, _, finish = found.get(_COLOR, "").partition(" ")
    if finish not in _ROUGHNESS or found.node_tree is None or len(found.node_tree.nodes) != 2:
        return True
    rgba = (*linear(tuple(bytes.fromhex(color[1:]))), 1.0)
    values = [node.inputs for node in found.node_tree.nodes if node.type == "BSDF_PRINCIPLED"]
    return not any(
        np.allclose(node["Base Color"].default_value, rgba, atol=1e-5)
        and abs(node["Roughness"].default_value - _ROUGHNESS[finish]) < 1e-5
        for node in values
    )


def _material(color: tuple[int, int, int], finish: str) -> bpy.types.Material:
    """Return the material of a filament color and finish, made once."""
    name = "#{:02x}{:02x}{:02x} {}".format(*color, finish)
    for item in bpy.data.materials:
        if item.get(_COLOR) == name:
            return item
    made = bpy.data.materials.new(f"Filament {name}")
    made[_COLOR] = name
    if made.node_tree is None:
        made.use_nodes = True
    rgba = (*linear(color), 1.0)
    made.diffuse_color = rgba
    made.roughness = _ROUGHNESS[finish]
    for node in made.node_tree.nodes:
        if node.type == "BSDF_PRINCIPLED":
            node.inputs["Base Color"].default_value = rgba
            node.inputs["Roughness"].default_value = _ROUGHNESS[finish]
    return made


def srgb(linear: Sequence[float]) -> list[float]:
    """Return scene linear values as sRGB, 0 to 1 (IEC 61966-2-1)."""
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in linear]


def linear(color: tuple[int, int, int]) -> tuple[float, float, float]:
    """Return sRGB bytes as scene linear (IEC 61966-2-1)."""
    low, high = np.asarray(color) / 255 / 12.92, ((np.asarray(color) / 255 + 0.055) / 1.055) ** 2.4
    r, g, b = np.where(np.asarray(color) / 255 <= 0.04045, low, high)
    return float(r), float(g), float(b)
