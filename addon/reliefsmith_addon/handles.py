# SPDX-License-Identifier: GPL-3.0-or-later
"""Handles on the piece in the 3D view: hole, border, two heights and texts are dragged where they are.

While one is dragged, its value stands in the header; Esc or the right button gives the old one back, and
each drag is one step of undo.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import bpy
from bpy_extras import view3d_utils
from mathutils import Matrix, Vector, geometry

from . import bridge, pieces, properties, standing, texthandles

_COLOR, _COLOR_OVER = (0.95, 0.62, 0.12), (1.0, 0.85, 0.45)
_FINE = 0.1  # what a drag counts for while Shift is held
_DIGITS_MM = 2
_SIDES = 24  # of the disc by which the hole is taken hold of
_ALONG = 0.97  # cosine from which the view looks along a handle's way: it cannot be dragged there

Box = tuple[Vector, Vector]


@dataclass(frozen=True)
class Handle:
    """One setting that is dragged in the view.

    Parameters
    ----------
    title : str
        What it is called while it is dragged.
    section, key : str
        The setting.
    way : tuple of float or None
        Direction, in the piece's frame, in which its value grows; None for a place on the front.
    at : callable
        Gives from the piece's least and greatest corners and its state where it stands.
    """

    title: str
    section: str
    key: str
    way: tuple[float, float, float] | None
    at: Callable[[Box, Any], Vector]

    def is_there(self, state: Any) -> bool:
        """Return whether there is something to drag."""
        return self.way is not None or state.has_hole or state.hang.use_at_mm

    def taken(self, state: Any) -> tuple[bool, Any]:
        """Return what Esc gives back: whether a place was set by hand, and the value."""
        return getattr(getattr(state, self.section), "use_at_mm", False), self.value(state)

    def given_back(self, state: Any, taken: tuple[bool, Any]) -> None:
        """Set what there was before the drag."""
        group = getattr(state, self.section)
        setattr(group, self.key, taken[1])
        if self.way is None:
            group.use_at_mm = taken[0]

    def value(self, state: Any) -> Any:
        """Return the value now, a number or a place."""
        group = getattr(state, self.section)
        if self.way is not None:
            return getattr(group, self.key)
        return Vector(group.at_mm if group.use_at_mm else state.hole)

    def moved(self, state: Any, taken: tuple[bool, Any], by_mm: Vector) -> str:
        """Set the value that a drag by `by_mm` gives, within the setting's bounds; returns it in words."""
        group, begin = getattr(state, self.section), taken[1]
        if self.way is None:
            group.at_mm = properties.place(begin + by_mm.to_2d())
            group.use_at_mm = True
            return "{}: {:.2f}, {:.2f} mm".format(self.title, *group.at_mm)
        setattr(group, self.key, round(begin + by_mm.dot(Vector(self.way)), _DIGITS_MM))
        return f"{self.title}: {getattr(group, self.key):.2f} mm"


HANDLES = (
    Handle("Hole", "hang", "at_mm", None, lambda box, state: Vector((*HANDLES[0].value(state), box[1].z))),
    Handle("Border", "base", "border_mm", (1, 0, 0), lambda box, _: _at(box, 1.0, 0.5)),
    Handle("Base height", "heights", "base_mm", (0, 0, 1), lambda box, _: _at(box, 0.0, 0.5)),
    Handle("Motif height", "heights", "motif_mm", (0, 0, 1), lambda box, _: _at(box, 0.5, 0.0)),
)


def _at(box: Box, x: float, y: float) -> Vector:
    """Return a place on the top of the box by its shares of width and depth."""
    low, high = box
    return Vector((low.x + x * (high.x - low.x), low.y + y * (high.y - low.y), high.z))


def box_of(piece: bpy.types.Collection) -> Box:
    """Return the least and greatest corner of a piece's parts, in mm, in its own frame."""
    corners = [Vector(at) for item in bridge.part_objects(piece).values() for at in item.bound_box]
    least, greatest = zip(*((min(axis), max(axis)) for axis in zip(*corners, strict=True)), strict=True)
    return Vector(least), Vector(greatest)


def are_shown(context: bpy.types.Context) -> bool:
    """Return whether the piece is there to be dragged: finished, whole, and nothing being edited."""
    state, piece = context.scene.reliefsmith, pieces.current(context.scene)
    if piece is None or not state.estimate or state.cut or context.mode != "OBJECT":
        return False
    upside = state.heights.face == "down" and state.as_printed
    return not upside and bool(bridge.part_objects(piece)) and not bridge.busy(piece)


def along(handle: Handle, start: Vector, way: Vector, at: Vector) -> Vector | None:
    """Return the place of a handle's line, or of the level plane through it, that a ray of the view meets.

    All in mm in the piece's frame. None where the view looks along the line or the plane.
    """
    if handle.way is None:
        return geometry.intersect_line_plane(start, start + way, at, Vector((0, 0, 1)))
    met = geometry.intersect_line_line(at, at + Vector(handle.way), start, start + way)
    return met[0] if met else None


class RELIEFSMITH_GT_handle(bpy.types.Gizmo):
    """A point or arrow that is dragged, with its value in the header"""

    bl_idname = "RELIEFSMITH_GT_handle"
    __slots__ = ("begin", "disc", "from_at", "handle", "kept")

    def setup(self) -> None:
        turns = [2 * math.pi * step / _SIDES for step in range(_SIDES + 1)]
        rim = [(math.cos(turn), math.sin(turn), 0.0) for turn in turns]
        corners = [at for pair in pairwise(rim) for at in ((0.0, 0.0, 0.0), *pair)]
        self.disc = self.new_custom_shape("TRIS", corners)

    def draw(self, _context: bpy.types.Context) -> None:
        self._draw(-1)

    def draw_select(self, _context: bpy.types.Context, select_id: int) -> None:
        self._draw(select_id)

    def _draw(self, select_id: int) -> None:
        if self.handle.way is not None:
            self.draw_preset_arrow(self.matrix_world, select_id=select_id)
        elif select_id < 0:
            self.draw_preset_circle(self.matrix_world)
        else:  # the whole disc is taken hold of, not its line alone
            self.draw_custom_shape(self.disc, select_id=select_id)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        state, piece = context.scene.reliefsmith, pieces.current(context.scene)
        self.kept = self.handle.taken(state)
        self.begin = self.handle.at(box_of(piece), state)
        self.from_at = self._met(context, event)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event, tweak: set[str]) -> set[str]:
        met = self._met(context, event)
        if met is not None and self.from_at is not None:
            by_mm = (met - self.from_at) * (_FINE if "PRECISE" in tweak else 1.0)
            context.area.header_text_set(self.handle.moved(context.scene.reliefsmith, self.kept, by_mm))
        return {"RUNNING_MODAL"}

    def exit(self, context: bpy.types.Context, cancel: bool) -> None:
        context.area.header_text_set(None)
        if not cancel:
            bpy.ops.ed.undo_push(message=f"Drag {self.handle.title}")
            return
        self.handle.given_back(context.scene.reliefsmith, self.kept)

    def _met(self, context: bpy.types.Context, event: bpy.types.Event) -> Vector | None:
        """Return the place on the handle's line or plane under the pointer."""
        at = (event.mouse_region_x, event.mouse_region_y)
        view = context.space_data.region_3d
        back = standing.frame(pieces.current(context.scene)).inverted()
        start = back @ view3d_utils.region_2d_to_origin_3d(context.region, view, at)
        way = back.to_3x3() @ view3d_utils.region_2d_to_vector_3d(context.region, view, at)
        return along(self.handle, start, way, self.begin)


class RELIEFSMITH_GGT_piece(bpy.types.GizmoGroup):
    """What of the piece is dragged in the view"""

    bl_label = "Piece"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return are_shown(context)

    def setup(self, _context: bpy.types.Context) -> None:
        for handle in HANDLES:
            self._add(handle)

    def refresh(self, context: bpy.types.Context) -> None:
        for index in range((len(self.gizmos) - len(HANDLES)) // 2, len(context.scene.reliefsmith.texts)):
            self._add(texthandles.TextHandle(index))
            self._add(texthandles.TextHandle(index, turns=True))

    def _add(self, handle: Any) -> None:
        made = self.gizmos.new(RELIEFSMITH_GT_handle.bl_idname)
        made.handle = handle
        made.color, made.color_highlight = _COLOR, _COLOR_OVER
        made.alpha, made.alpha_highlight = 0.9, 1.0
        made.use_draw_modal = True
        made.scale_basis = 0.35 if handle.way is None else 0.5

    def draw_prepare(self, context: bpy.types.Context) -> None:
        piece = pieces.current(context.scene)
        if piece is None:
            return
        state, box, frame = context.scene.reliefsmith, box_of(piece), standing.frame(piece)
        looking = frame.to_3x3().inverted() @ (context.region_data.view_rotation @ Vector((0, 0, 1)))
        for made in self.gizmos:
            made.hide = not made.handle.is_there(state)
            if made.hide:
                continue
            way = Vector(made.handle.way or (0, 0, 1))
            turn = way.to_track_quat("Z", "Y").to_matrix().to_4x4()
            made.matrix_basis = frame @ Matrix.Translation(made.handle.at(box, state)) @ turn
            if made.handle.way is not None:
                made.hide = abs(way.dot(looking)) > _ALONG


_classes = (RELIEFSMITH_GT_handle, RELIEFSMITH_GGT_piece)


def register() -> None:
    """Register the handles."""
    for item in _classes:
        bpy.utils.register_class(item)


def unregister() -> None:
    """Take the handles away again."""
    for item in reversed(_classes):
        bpy.utils.unregister_class(item)
