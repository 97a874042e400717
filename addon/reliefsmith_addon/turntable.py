# SPDX-License-Identifier: GPL-3.0-or-later
"""Camera, lights and color management round the piece; known by a custom property."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import bpy
from mathutils import Vector

from . import pieces

_NAME = "reliefsmith_stage"
_FRAMES = 120  # one turn, five seconds at 24 pictures a second
_TILT = math.radians(40)  # the camera looks down at the piece this far from straight down
_FREE = 1.25  # the picture is this many times the piece's diagonal
_AWAY_MM = 400.0
_SUNS = {"key": (3.0, (0.7, 0.2, 0.5)), "fill": (1.2, (0.9, -0.3, -2.2))}  # strength, turn about x, y, z
_PAPER = 0.9  # the world's gray


def set_up(scene: bpy.types.Scene, parts: Sequence[bpy.types.Object]) -> bpy.types.Object:
    """Stand a camera and lights round the parts and turn them once; returns the pivot that turns."""
    corners = [item.matrix_world @ Vector(corner) for item in parts for corner in item.bound_box]
    low, high = ([pick(corner[i] for corner in corners) for i in range(3)] for pick in (min, max))
    pivot = _thing(scene, "pivot", lambda: None)
    pivot.location = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
    camera = _thing(scene, "camera", lambda: bpy.data.cameras.new("Relief camera"))
    camera.parent = pivot
    camera.location = (0, -_AWAY_MM * math.sin(_TILT), _AWAY_MM * math.cos(_TILT))
    camera.rotation_euler = (_TILT, 0, 0)
    camera.data.type = "ORTHO"
    camera.data.ortho_scale = _FREE * math.dist(low[:2], high[:2])
    camera.data.clip_end = 4 * _AWAY_MM
    for name, (strength, turn) in _SUNS.items():
        sun = _thing(scene, name, lambda: bpy.data.lights.new("Relief light", "SUN"))
        sun.parent = pivot
        sun.data.energy = strength
        sun.rotation_euler = turn
    scene.camera = camera
    _turn(scene, pivot)
    true_colors(scene)
    return pivot


def true_colors(scene: bpy.types.Scene) -> None:
    """Show colors as the chips are, in the standard view, on a light gray."""
    scene.view_settings.view_transform = "Standard"
    scene.view_settings.look = "None"
    scene.view_settings.exposure, scene.view_settings.gamma = 0.0, 1.0
    if scene.world is None:
        scene.world = bpy.data.worlds.new("Relief")
        scene.world.color = (_PAPER, _PAPER, _PAPER)


def render(scene: bpy.types.Scene, names: Sequence[Path], size: int) -> None:
    """Render one turn in as many views as there are names; the scene's own settings are put back."""
    settings = scene.render
    kept = {
        key: getattr(settings, key)
        for key in ("engine", "filepath", "resolution_x", "resolution_y", "resolution_percentage")
    }
    frame, kind = scene.frame_current, settings.image_settings.file_format
    color = scene.display.shading.color_type
    settings.engine, scene.display.shading.color_type = "BLENDER_WORKBENCH", "OBJECT"
    settings.resolution_x = settings.resolution_y = size
    settings.resolution_percentage, settings.image_settings.file_format = 100, "PNG"
    try:
        for number, path in enumerate(names):
            scene.frame_set(1 + round(number * _FRAMES / len(names)))
            settings.filepath = str(path)
            bpy.ops.render.render(write_still=True, scene=scene.name)
    finally:
        for key, value in kept.items():
            setattr(settings, key, value)
        settings.image_settings.file_format, scene.display.shading.color_type = kind, color
        scene.frame_set(frame)


def _turn(scene: bpy.types.Scene, pivot: bpy.types.Object) -> None:
    """Give the pivot one even turn."""
    pivot.animation_data_clear()
    driver = pivot.driver_add("rotation_euler", 2).driver
    driver.type = "SCRIPTED"
    driver.expression = f"(frame - 1) * {2 * math.pi / _FRAMES!r}"
    scene.frame_start, scene.frame_end = 1, _FRAMES


def _thing(scene: bpy.types.Scene, name: str, data: Callable[[], Any]) -> bpy.types.Object:
    """Return the camera, light or pivot of this name on the scene's stage; made where it is missing."""
    place = pieces.collection(pieces.begin(scene), pieces.STAGE)
    for item in place.objects:
        if item.get(_NAME) == name:
            return item
    made = bpy.data.objects.new(f"Relief {name}", data())
    made[_NAME] = name
    place.objects.link(made)
    return made
