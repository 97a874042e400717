# SPDX-License-Identifier: GPL-3.0-or-later
"""How filaments shine: the shader nodes of each finish, layer lines, and what shows through thin layers.

Every value here is judged by eye on renders, but for the colors: in the light of the stage a top in any
opaque finish shows its filament's color.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np

PLAIN = "matte"
THROUGH = (
    "reliefsmith_shown"  # the column of a mesh that says how what shows through changes each face's color
)
_SPECULAR, _CLEAR = "Specular IOR Level", "Transmission Weight"
# Inputs of the shader by finish; wood and stone have a pattern too, silk its color in the highlight.
_SHINES: dict[str, dict[str, float]] = {
    "matte": {"Roughness": 0.9, _SPECULAR: 0.0},
    "satin": {"Roughness": 0.4, _SPECULAR: 0.3},
    "silk": {"Roughness": 0.25, _SPECULAR: 1.0},
    "gloss": {"Roughness": 0.12, _SPECULAR: 0.5},
    "clear": {"Roughness": 0.08, _SPECULAR: 0.5, _CLEAR: 0.8},
    "glow": {"Roughness": 0.7, _SPECULAR: 0.1, "Emission Strength": 0.12},
    "wood": {"Roughness": 0.85, _SPECULAR: 0.05},
    "stone": {"Roughness": 0.95, _SPECULAR: 0.0},
}
# Points of a noise for each mm along x, y, z, and between which shares of the color it goes; the mean is 1.
_PATTERNS = {"wood": ((0.2, 2.0, 2.0), (0.5, 1.5)), "stone": ((2.5, 2.5, 2.5), (0.3, 1.7))}
_GREEN = (0.35, 1.0, 0.45)  # what a filament that glows adds in the dark
_BEAD = 0.25  # how far a layer's edge bulges, in layers
_SET = ("Base Color", "Roughness", _SPECULAR, _CLEAR, "Metallic", "Alpha", "IOR", "Specular Tint")
_SET += ("Emission Color", "Emission Strength", "Coat Weight", "Sheen Weight", "Subsurface Weight")


@dataclass(frozen=True, slots=True)
class Look:
    """How a part is shown beside its color: finish, layer lines where a height is given, what shows through.

    `seam_mm` is the height of one boundary of two layers.
    """

    finish: str = PLAIN
    layer_mm: float = 0.0
    seam_mm: float = 0.0
    through: bool = False

    def __str__(self) -> str:
        lines = f" layers {self.layer_mm:g} at {self.seam_mm:g}" if self.layer_mm else ""
        return f"{self.finish}{lines}{' through' if self.through else ''}"


def build(material: bpy.types.Material, rgb: tuple[float, float, float], look: Look) -> None:
    """Give a new material the nodes of a filament; `rgb` is scene linear."""
    if material.node_tree is None:
        material.use_nodes = True
    tree, shines = material.node_tree, _SHINES[look.finish]
    shader = next(node for node in tree.nodes if node.type == "BSDF_PRINCIPLED")
    material.diffuse_color, material.roughness = (*rgb, 1.0), shines["Roughness"]
    for key, value in shines.items():
        shader.inputs[key].default_value = value
    shader.inputs["Base Color"].default_value = (*rgb, 1.0)
    if look.finish == "silk":
        most = max(*rgb, 1e-3)
        shader.inputs["Specular Tint"].default_value = (*((0.3 + 0.7 * value / most) for value in rgb), 1.0)
    if look.finish == "glow":
        shader.inputs["Emission Color"].default_value = (
            *(0.3 * own + 0.7 * add for own, add in zip(rgb, _GREEN, strict=True)),
            1.0,
        )
    color = _through(tree, rgb) if look.through else None
    if look.finish in _PATTERNS:
        color = _pattern(tree, rgb, color, look.finish)
    if color is not None:
        tree.links.new(color, shader.inputs["Base Color"])
    if look.layer_mm:
        tree.links.new(_layers(tree, look), shader.inputs["Normal"])


def _through(tree: Any, rgb: Sequence[float]) -> Any:
    """Return the socket of the color with what shows through; the plain color where that is not known."""
    read, added = tree.nodes.new("ShaderNodeAttribute"), tree.nodes.new("ShaderNodeVectorMath")
    read.attribute_name, added.operation = THROUGH, "ADD"
    added.inputs[1].default_value = rgb
    tree.links.new(read.outputs["Vector"], added.inputs[0])
    return added.outputs[0]


def _socket(sockets: Any, name: str, kind: str) -> Any:
    """Return the socket of a node that has one of a name for each kind of value."""
    return next(item for item in sockets if item.name == name and item.type == kind)


def _pattern(tree: Any, rgb: Any, color: Any, finish: str) -> Any:
    """Return the socket of a color that goes darker and lighter by place; `color` is a socket or None."""
    scale, (low, high) = _PATTERNS[finish]
    where, spread = tree.nodes.new("ShaderNodeTexCoord"), tree.nodes.new("ShaderNodeMapping")
    noise, share = tree.nodes.new("ShaderNodeTexNoise"), tree.nodes.new("ShaderNodeMapRange")
    times = tree.nodes.new("ShaderNodeVectorMath")
    times.operation = "SCALE"
    spread.inputs["Scale"].default_value = scale
    noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = 1.0, 3.0
    # Noise seldom leaves the middle of 0 to 1.
    for name, value in (("From Min", 0.4), ("From Max", 0.6), ("To Min", low), ("To Max", high)):
        _socket(share.inputs, name, "VALUE").default_value = value
    times.inputs[0].default_value = rgb
    tree.links.new(where.outputs["Object"], spread.inputs["Vector"])
    tree.links.new(spread.outputs["Vector"], noise.inputs["Vector"])
    tree.links.new(noise.outputs[0], _socket(share.inputs, "Value", "VALUE"))
    tree.links.new(_socket(share.outputs, "Result", "VALUE"), times.inputs["Scale"])
    if color is not None:
        tree.links.new(color, times.inputs[0])
    return times.outputs[0]


def _layers(tree: Any, look: Look) -> Any:
    """Return the socket of a normal that shows each layer as a rounded bead; level tops stay as they are."""
    where, split = tree.nodes.new("ShaderNodeTexCoord"), tree.nodes.new("ShaderNodeSeparateXYZ")
    turns, wave, bulge = (tree.nodes.new("ShaderNodeMath") for _ in range(3))
    bump = tree.nodes.new("ShaderNodeBump")
    turns.operation, wave.operation, bulge.operation = "MULTIPLY_ADD", "SINE", "ABSOLUTE"
    turns.inputs[1].default_value = math.pi / look.layer_mm
    turns.inputs[2].default_value = -math.pi * look.seam_mm / look.layer_mm
    bump.inputs["Distance"].default_value = _BEAD * look.layer_mm
    tree.links.new(where.outputs["Object"], split.inputs[0])
    tree.links.new(split.outputs["Z"], turns.inputs[0])
    tree.links.new(turns.outputs[0], wave.inputs[0])
    tree.links.new(wave.outputs[0], bulge.inputs[0])
    tree.links.new(bulge.outputs[0], bump.inputs["Height"])
    return bump.outputs["Normal"]


def content(material: bpy.types.Material) -> str:
    """Return a stamp of what a material's nodes make, by which it is seen whether the artist changed it."""
    tree = material.node_tree
    rows = [_numbers(material.diffuse_color)]
    for node in tree.nodes if tree is not None else ():
        known = [item for item in node.inputs if not item.is_linked and hasattr(item, "default_value")]
        if node.type == "BSDF_PRINCIPLED":
            known = [item for item in known if item.identifier in _SET]
        rows += [f"{node.type} {item.identifier} {_numbers(item.default_value)}" for item in known]
    for link in tree.links if tree is not None else ():
        ends = ((link.from_node, link.from_socket), (link.to_node, link.to_socket))
        rows.append(" ".join(f"{node.type} {socket.identifier}" for node, socket in ends))
    return hashlib.blake2b("\n".join(sorted(rows)).encode(), digest_size=16).hexdigest()


def _numbers(value: Any) -> str:
    try:
        return " ".join(f"{one:.5g}" for one in np.ravel(value).astype(float))
    except (TypeError, ValueError):
        return str(value)
