# SPDX-License-Identifier: GPL-3.0-or-later
"""The camera round the piece: one even turn for an animation, and the poses of stills."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import bpy
from mathutils import Matrix, Vector

from . import stage

FRAMES = 120  # one turn, five seconds at 24 pictures a second
_TILT = math.radians(50)  # a turning camera looks down at the piece this far from straight down
_FREE = 1.1  # the picture is this many times as wide as the piece
_SIZE = "reliefsmith_size"
_AWAY_MM = 400.0


@dataclass(frozen=True, slots=True)
class Pose:
    """From where a still is taken: tilted from straight above, turned about the piece, or from behind."""

    name: str
    tilt: float = 0.0
    turn: float = 0.0
    behind: bool = False


STILLS = (
    Pose("front"),
    Pose("left", math.radians(55), math.radians(-35)),
    Pose("right", math.radians(55), math.radians(35)),
    Pose("edge", math.radians(82)),
    Pose("back", behind=True),
)


def turns(count: int) -> tuple[Pose, ...]:
    """Return the poses of one turn in so many stills."""
    return tuple(Pose(f"turn-{n + 1:02}", _TILT, n * 2 * math.pi / count) for n in range(count))


def set_up(scene: bpy.types.Scene, parts: Sequence[bpy.types.Object], frame: Matrix) -> None:
    """Stand the camera round the parts, which stand in a frame of the scene, and turn it once."""
    back = frame.inverted()
    corners = [back @ item.matrix_world @ Vector(corner) for item in parts for corner in item.bound_box]
    low, high = ([pick(corner[i] for corner in corners) for i in range(3)] for pick in (min, max))
    pivot, camera = stage.pivot(scene), camera_of(scene)
    pivot.location = frame @ Vector([(a + b) / 2 for a, b in zip(low, high, strict=True)])
    pivot.delta_rotation_euler = frame.to_euler()
    camera.data.type = "ORTHO"
    pivot[_SIZE] = [b - a for a, b in zip(low, high, strict=True)]
    camera.data.clip_end = 4 * _AWAY_MM
    scene.camera = camera
    scene.frame_start, scene.frame_end = 1, FRAMES
    turn(scene)


def turn(scene: bpy.types.Scene) -> None:
    """Put camera and lights on their even turn."""
    take(scene, Pose("", _TILT))
    driver = stage.pivot(scene).driver_add("rotation_euler", 2).driver
    driver.type = "SCRIPTED"
    driver.expression = f"(frame - 1) * {2 * math.pi / FRAMES!r}"


def camera_of(scene: bpy.types.Scene) -> bpy.types.Object:
    """Return the camera of the piece's stage, on its pivot."""
    camera = stage.thing(scene, "camera", lambda: bpy.data.cameras.new("Relief camera"))
    camera.parent = stage.pivot(scene)
    return camera


def take(scene: bpy.types.Scene, pose: Pose) -> None:
    """Put camera and lights into a pose; the turn of the animation is taken away."""
    pivot, camera = stage.pivot(scene), camera_of(scene)
    pivot.animation_data_clear()
    pivot.rotation_euler = (0.0, math.pi if pose.behind else 0.0, pose.turn)
    camera.location = (0.0, -_AWAY_MM * math.sin(pose.tilt), _AWAY_MM * math.cos(pose.tilt))
    camera.rotation_euler = (pose.tilt, 0.0, 0.0)
    width, depth, _ = pivot.get(_SIZE, (0.0, 0.0, 0.0))
    camera.data.ortho_scale = _FREE * (math.hypot(width, depth) if pose.tilt else max(width, depth))
