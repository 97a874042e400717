# SPDX-License-Identifier: GPL-3.0-or-later
"""Light in which a filament's color is seen as it is, and the view that shows it so.

A surface of albedo c that faces the front sends c times (world + sum of sun x cosine / pi) to the eye; the
suns are as strong as makes that c itself. The world lights little, so that little of it is mirrored over the
color. The eye sees it as light paper, and what mirrors as a bright band round a dark zenith: seen from the
front a top shows its color, seen aslant its shine. Lights and world are known by a custom property.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import bpy
from mathutils import Euler, Vector

from . import pieces

NAME = "reliefsmith_stage"
PAPER = 0.8  # of the ground behind the piece, scene linear
_WORLD = 0.06  # what the world lights with
_BAND, _MIDDLE, _HALF = (
    0.8,
    0.5,
    0.3,
)  # how bright the band is; its middle and half its width, sines of height
# How much of the front's light each sun gives, its turn about x, y, z, and how wide it is seen.
_SUNS = {
    "key": (0.60, (0.90, 0.0, -2.40), math.radians(6)),
    "fill": (0.25, (0.95, 0.0, 0.60), math.radians(40)),
    "rim": (0.15, (1.05, 0.0, 2.20), math.radians(40)),
}
_VIEW = {
    "look": "None",
    "exposure": 0.0,
    "gamma": 1.0,
    "use_curve_mapping": False,
    "use_white_balance": False,
}


def show_true_colors(scene: bpy.types.Scene, spaces: Sequence[bpy.types.SpaceView3D] = ()) -> list[str]:
    """Set view, world and light of a scene, and how 3D views show it; returns in words what changed."""
    said = [*_view(scene), *_world(scene), *_lights(scene)]
    for space in spaces:
        shading = space.shading
        now = (shading.type, shading.use_scene_lights, shading.use_scene_world)
        if now not in (("MATERIAL", True, True), ("RENDERED", True, True)):
            shading.type, shading.use_scene_lights, shading.use_scene_world = "MATERIAL", True, True
            said.append(f"3D view: {now[0].lower()} shading, now material with the scene's light")
    return said


def _view(scene: bpy.types.Scene) -> list[str]:
    said = []
    view = scene.view_settings
    wanted = [(scene.display_settings, "display_device", "sRGB"), (view, "view_transform", "Standard")]
    wanted += [(view, key, value) for key, value in _VIEW.items() if hasattr(view, key)]
    for settings, key, value in wanted:
        before = getattr(settings, key)
        if before != value:
            setattr(settings, key, value)
            said.append(f"{key.replace('_', ' ')}: {before}, now {value}")
    return said


def _world(scene: bpy.types.Scene) -> list[str]:
    """Give the scene the world that is the same in every Blender; the artist's stays in the file."""
    before = scene.world
    if before is not None and NAME in before:
        return []
    world = next((item for item in bpy.data.worlds if NAME in item and item.library is None), None)
    scene.world = world or _made_world()
    if before is None:
        return [f"world: none, now {scene.world.name}"]
    before.use_fake_user = True
    return [f"world: {before.name}, now {scene.world.name} (yours stays in this file)"]


def _made_world() -> bpy.types.World:
    world = bpy.data.worlds.new("Relief gray")
    world[NAME] = "world"
    if world.node_tree is None:
        world.use_nodes = True
    tree = world.node_tree
    ground = next(node for node in tree.nodes if node.type == "BACKGROUND")
    path, where, split = (
        tree.nodes.new(f"ShaderNode{kind}") for kind in ("LightPath", "TexCoord", "SeparateXYZ")
    )
    tree.links.new(where.outputs["Generated"], split.inputs[0])

    def reckon(operation: str, *given: Any) -> Any:
        node = tree.nodes.new("ShaderNodeMath")
        node.operation = operation
        for socket, value in zip(node.inputs, given, strict=False):
            if isinstance(value, float):
                socket.default_value = value
            else:
                tree.links.new(value, socket)
        return node.outputs[0]

    seen = reckon("MAXIMUM", path.outputs["Is Camera Ray"], path.outputs["Is Transmission Ray"])
    aside = reckon("ABSOLUTE", reckon("SUBTRACT", reckon("ABSOLUTE", split.outputs["Z"]), _MIDDLE))
    band = reckon("MAXIMUM", reckon("MULTIPLY_ADD", aside, -_BAND / _HALF, _BAND), 0.0)
    strength = reckon("MULTIPLY_ADD", band, path.outputs["Is Glossy Ray"], _WORLD)
    tree.links.new(reckon("MULTIPLY_ADD", seen, PAPER - _WORLD, strength), ground.inputs["Strength"])
    ground.inputs["Color"].default_value = (1.0, 1.0, 1.0, 1.0)
    world.color = (PAPER, PAPER, PAPER)
    return world


def _lights(scene: bpy.types.Scene) -> list[str]:
    """Stand the suns of the piece's stage, and turn every other light off."""
    middle = pivot(scene)
    ours = [thing(scene, name, lambda: bpy.data.lights.new("Relief light", "SUN")) for name in _SUNS]
    for item, (share, turn, wide) in zip(ours, _SUNS.values(), strict=True):
        item.parent, item.rotation_euler = middle, turn
        down = Euler(turn).to_matrix() @ Vector((0, 0, 1))
        item.data.energy = share * (1 - _WORLD) * math.pi / down.z
        item.data.color, item.data.angle = (1.0, 1.0, 1.0), wide
        item.hide_render = item.hide_viewport = False
    others = [item for item in scene.objects if item.type == "LIGHT" and item not in ours]
    lit = [item for item in others if not item.hide_render and item.library is None]
    for item in lit:
        item.hide_render = item.hide_viewport = True
    return [f"light {item.name}: on, now off" for item in lit]


def pivot(scene: bpy.types.Scene) -> bpy.types.Object:
    """Return what camera and lights stand round."""
    return thing(scene, "pivot", lambda: None)


def thing(scene: bpy.types.Scene, name: str, data: Callable[[], Any]) -> bpy.types.Object:
    """Return the camera, light or else of this name on the piece's stage; made where it is missing."""
    place = pieces.collection(pieces.begin(scene), pieces.STAGE)
    for item in place.objects:
        if item.get(NAME) == name:
            return item
    made = bpy.data.objects.new(f"Relief {name}", data())
    made[NAME] = name
    place.objects.link(made)
    return made


def views(manager: bpy.types.WindowManager) -> Iterator[bpy.types.SpaceView3D]:
    """Return the 3D views of all windows."""
    for window in manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                yield area.spaces.active
