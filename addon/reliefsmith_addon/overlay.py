# SPDX-License-Identifier: GPL-3.0-or-later
"""Findings in the 3D view: each is a numbered dot at its place, and a click on its row goes there."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import blf
import bpy
import gpu
from bpy_extras import view3d_utils
from gpu_extras.batch import batch_for_shader
from mathutils import Vector

from reliefsmith.findings import count_words

from . import checking, pieces, slices, standing
from .commands import told

_CLOSE_MM = 30.0  # distance from which a finding is looked at
_COLORS = {"stop": (0.9, 0.15, 0.1, 1.0), "warn": (1.0, 0.62, 0.05, 1.0), "note": (0.25, 0.5, 0.95, 1.0)}
_RIM = (1.0, 1.0, 1.0, 1.0)
_RADIUS, _CHOSEN, _RIM_PX, _TEXT_PX = 8.0, 11.0, 2.0, 11.0  # in points of the screen
_SIDES = 20


def dots(scene: bpy.types.Scene) -> list[tuple[int, str, Vector, bool]]:
    """Return number, severity and place of each finding that has one, and whether it was gone to last."""
    state = scene.reliefsmith
    if not state.show_findings:
        return []
    frame = standing.frame(pieces.current(scene))
    return [
        (index + 1, item.severity, frame @ Vector(item.place), index == state.finding)
        for index, item in enumerate(state.findings)
        if item.has_place
    ]


def disc(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    """Return the corners of the triangles of a disc."""
    turns = [2 * math.pi * step / _SIDES for step in range(_SIDES + 1)]
    rim = [(x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns]
    return [corner for a, b in pairwise(rim) for corner in ((x, y), a, b)]


def draw() -> None:
    """Draw the dots of the piece that is meant into the region that is drawn."""
    context = bpy.context
    if context.space_data is None or not context.space_data.overlay.show_overlays:
        return
    shader = gpu.shader.from_builtin(_shader())
    gpu.state.blend_set("ALPHA")
    for number, severity, place, is_chosen in dots(context.scene):
        at = view3d_utils.location_3d_to_region_2d(context.region, context.region_data, place)
        if at is not None:
            _dot(shader, at, number, _COLORS[severity], is_chosen)
    gpu.state.blend_set("NONE")


def _dot(shader: Any, at: Vector, number: int, color: tuple[float, ...], is_chosen: bool) -> None:
    scale = bpy.context.preferences.system.ui_scale
    radius = scale * (_CHOSEN if is_chosen else _RADIUS)
    for size, shade in ((radius + scale * _RIM_PX, _RIM), (radius, color)):
        shader.bind()
        shader.uniform_float("color", shade)
        batch_for_shader(shader, "TRIS", {"pos": disc(at.x, at.y, size)}).draw(shader)
    text = str(number)
    blf.size(0, *((scale * _TEXT_PX,) if bpy.app.version >= (4, 0) else (int(scale * _TEXT_PX), 72)))
    blf.color(0, *_RIM)
    wide, high = blf.dimensions(0, text)
    blf.position(0, at.x - wide / 2, at.y - high / 2, 0)
    blf.draw(0, text)


def _shader() -> str:
    return "UNIFORM_COLOR" if bpy.app.version >= (4, 0) else "2D_UNIFORM_COLOR"


class RELIEFSMITH_OT_show_finding(bpy.types.Operator):
    """Go to the place of a finding: the 3D cursor, the view, and the part there selected"""

    bl_idname = "reliefsmith.show_finding"
    bl_label = "Show Finding"
    bl_options = {"REGISTER", "UNDO"}
    index: bpy.props.IntProperty(name="Finding", min=0)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        if self.index >= len(state.findings) or not state.findings[self.index].has_place:
            self.report({"ERROR"}, "this finding has no place; choose another one")
            return {"CANCELLED"}
        piece = pieces.current(context.scene)
        place = standing.frame(piece) @ Vector(state.findings[self.index].place)
        state.finding = self.index
        context.scene.cursor.location = place
        met = standing.part_at(context.scene, context.evaluated_depsgraph_get(), place)
        if met is not None:
            standing.select(context.view_layer, met)
        if context.space_data is not None and context.space_data.type == "VIEW_3D":
            context.space_data.region_3d.view_location = place
            context.space_data.region_3d.view_distance = _CLOSE_MM
        return {"FINISHED"}


class RELIEFSMITH_OT_check(slices.Sliced, bpy.types.Operator):
    """Check the whole piece as it is now, hidden parts too, or only the selection"""

    bl_idname = "reliefsmith.check"
    bl_label = "Check Piece"
    bl_options = {"REGISTER", "UNDO"}
    selected: standing.selection_only()

    def begin(self, context: Any) -> Any:
        return checking.check_steps(context.scene, context.view_layer, selected=self.selected)

    def end(self, context: Any, value: Any) -> set[str]:
        checking.keep_check(context.scene, *value, selected=self.selected)
        self.report({"INFO"}, count_words(len(context.scene.reliefsmith.findings), "finding"))
        return {"FINISHED"}


classes = (RELIEFSMITH_OT_show_finding, RELIEFSMITH_OT_check)
_drawn: list[Any] = []


def register() -> None:
    """Draw from now on; without a window there is nothing to draw into."""
    if not bpy.app.background:
        _drawn.append(bpy.types.SpaceView3D.draw_handler_add(draw, (), "WINDOW", "POST_PIXEL"))


def unregister() -> None:
    """Draw no more."""
    while _drawn:
        bpy.types.SpaceView3D.draw_handler_remove(_drawn.pop(), "WINDOW")
