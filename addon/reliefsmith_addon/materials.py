# SPDX-License-Identifier: GPL-3.0-or-later
"""Materials by filament color and look, and colors in the view; those of the artist stay."""

from __future__ import annotations

from collections.abc import Sequence

import bpy
import numpy as np

from . import shading
from .shading import PLAIN, Look

__all__ = ["PLAIN", "color_of", "is_own", "is_painted", "linear", "made", "own_color", "paint", "srgb"]

_COLOR = "reliefsmith_color"  # of a material its color and look, of an object its color in the view
_MADE = "reliefsmith_made"
_PAINTED = "reliefsmith_painted"  # which material of ours an object was given last
_ROUGHNESS = {"matte": 0.75, "gloss": 0.25, "silk": 0.35, "clear": 0.15}  # of files of version 0.1
_SLACK = 1e-5
_UNSET = (1.0, 1.0, 1.0, 1.0)  # the color in the view that Blender begins with

Bytes = tuple[int, int, int]


def paint(item: bpy.types.Object, color: Bytes, look: Look) -> None:
    """Give a part its material and its color in the view, where the artist gave it no others."""
    own = is_own_color(item)
    before = item.data.materials[0] if item.data.materials else None
    if before is None or not is_own(item):
        material = made(color, look)
        item[_PAINTED] = material[_COLOR]
        if before is None:
            item.data.materials.append(material)
        elif before != material:
            item.data.materials[0] = material
            if before.users == 0:
                bpy.data.materials.remove(before)
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
    return not np.allclose(item.color, _rgba(ours), atol=_SLACK)


def is_own(item: bpy.types.Object) -> bool:
    """Return whether a part's material is the artist's: another one, or one of ours that was edited."""
    found = item.data.materials[0] if item.data.materials else None
    if found is None:
        return False
    if found.get(_COLOR) != item.get(_PAINTED, found.get(_COLOR)):
        return True
    return found.get(_MADE) != shading.content(found) if _MADE in found else not _is_of_older(found)


def color_of(item: bpy.types.Object) -> Bytes:
    """Return the color that a part is written in: that of the artist's material, else that in the view.

    A material is taken by the base color of its shader; where that is a texture, or there is no such shader,
    by the color that the material has in the view.
    """
    return _bytes(_base_color(item.data.materials[0]) if is_own(item) else item.color[:3])


def own_color(item: bpy.types.Object) -> Bytes | None:
    """Return the color that the artist gave a part by a material or in the view, or None."""
    return color_of(item) if is_painted(item) else None


def _base_color(material: bpy.types.Material) -> Sequence[float]:
    nodes = material.node_tree.nodes if material.node_tree is not None else ()
    inputs = [node.inputs["Base Color"] for node in nodes if node.type == "BSDF_PRINCIPLED"]
    plain = [item for item in inputs if not item.is_linked]
    return (plain[0].default_value if plain else material.diffuse_color)[:3]


def _is_of_older(material: bpy.types.Material) -> bool:
    """Return whether it is a material that version 0.1 made, as it made it."""
    color, _, finish = material.get(_COLOR, "").partition(" ")
    if finish not in _ROUGHNESS or material.node_tree is None or len(material.node_tree.nodes) != 2:
        return False
    values = [node.inputs for node in material.node_tree.nodes if node.type == "BSDF_PRINCIPLED"]
    return any(
        np.allclose(node["Base Color"].default_value, _rgba(color), atol=_SLACK)
        and abs(node["Roughness"].default_value - _ROUGHNESS[finish]) < _SLACK
        for node in values
    )


def made(color: Bytes, look: Look) -> bpy.types.Material:
    """Return the material of a filament's color and look, made once; an edited one is left to the artist."""
    name = "#{:02x}{:02x}{:02x} {}".format(*color, look)
    for item in bpy.data.materials:
        if item.get(_COLOR) == name and item.get(_MADE) == shading.content(item) and item.library is None:
            return item
    material = bpy.data.materials.new(f"Filament {name}")
    material[_COLOR] = name
    shading.build(material, linear(color), look)
    material[_MADE] = shading.content(material)
    return material


def _rgba(color: str) -> tuple[float, float, float, float]:
    return (*linear(tuple(bytes.fromhex(color[1:]))), 1.0)


def _bytes(rgb: Sequence[float]) -> Bytes:
    """Return scene linear values as sRGB bytes."""
    red, green, blue = (min(max(round(255 * value), 0), 255) for value in srgb(rgb))
    return red, green, blue


def srgb(linear: Sequence[float]) -> list[float]:
    """Return scene linear values as sRGB, 0 to 1 (IEC 61966-2-1)."""
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in linear]


def linear(color: Bytes) -> tuple[float, float, float]:
    """Return sRGB bytes as scene linear (IEC 61966-2-1)."""
    low, high = np.asarray(color) / 255 / 12.92, ((np.asarray(color) / 255 + 0.055) / 1.055) ** 2.4
    r, g, b = np.where(np.asarray(color) / 255 <= 0.04045, low, high)
    return float(r), float(g), float(b)
