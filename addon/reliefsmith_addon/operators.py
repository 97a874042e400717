# SPDX-License-Identifier: GPL-3.0-or-later
"""The add-on's commands: each reads the properties, calls one function of the core and shows the result."""

from __future__ import annotations

import time
from typing import Any

import bpy
from mathutils import Vector

from reliefsmith.errors import RecipeError
from reliefsmith.progress import drain

from . import (
    bridge,
    colors,
    files,
    finish,
    handwork,
    library,
    live,
    picking,
    pieces,
    proofs,
    run,
    session,
    standing,
)
from .commands import NeedsPicture, told
from .saying import words

_TICK_S = 0.01
_CLOSE_MM = 30.0  # distance from which a finding is looked at


class RELIEFSMITH_OT_make(NeedsPicture, bpy.types.Operator):
    """Make the relief from the picture and bring its parts into the scene"""

    bl_idname = "reliefsmith.make"
    bl_label = "Make Relief"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        self._piece, running = run.asked(context.scene)
        return self._finish(drain(running))

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if bpy.app.background or context.window is None:
            return self.execute(context)
        try:
            self._piece, self._running = run.asked(context.scene)
        except Exception as error:  # noqa: BLE001 - as in `told`
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}
        self._timer = context.window_manager.event_timer_add(_TICK_S, window=context.window)
        context.window_manager.progress_begin(0, 1)
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type == "ESC":
            self.cancel(context)
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"}
        try:
            self._advance(context)
        except StopIteration as stop:
            self._leave(context)
            return self._finish(stop.value)
        except Exception as error:  # noqa: BLE001 - a fault of ours must not leave the timer running
            self._leave(context)
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}
        return {"RUNNING_MODAL"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Stop the run; Blender calls it too, when the window closes."""
        self._running.close()
        self._leave(context)

    def _advance(self, context: bpy.types.Context) -> None:
        """Take steps until the slice of time is used up."""
        begin = time.perf_counter()
        while time.perf_counter() - begin < live.SLICE_S:
            step = next(self._running)
            context.window_manager.progress_update(step.fraction)
            context.workspace.status_text_set(f"{step.message}  (Esc cancels)")

    def _leave(self, context: bpy.types.Context) -> None:
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    @told
    def _finish(self, relief: Any) -> set[str]:
        piece = pieces.named(self._piece)
        if piece is None:
            raise RecipeError("the piece was deleted while it was made; make it again")
        aside = run.show(piece, relief)
        if aside:
            self.report({"WARNING"}, f"changed by hand, so set aside in Finish: {', '.join(aside)}")
        self.report({"INFO"}, f"{len(relief.parts)} parts, {len(relief.findings)} findings")
        return {"FINISHED"}


class RELIEFSMITH_OT_new_piece(bpy.types.Operator):
    """Begin another piece in this scene; the ones there stay as they are"""

    bl_idname = "reliefsmith.new_piece"
    bl_label = "New Piece"
    bl_options = {"REGISTER", "UNDO"}
    any_piece = True

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        pieces.add(context.scene)
        standing.select(context.view_layer, None)
        return {"FINISHED"}


class RELIEFSMITH_OT_use_millimeters(bpy.types.Operator):
    """Make one unit of this scene one millimeter, as the parts are"""

    bl_idname = "reliefsmith.use_millimeters"
    bl_label = "Use Millimeters"
    bl_options = {"REGISTER", "UNDO"}
    any_piece = True

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        bridge.use_millimeters(context.scene)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if context.scene.objects:
            return context.window_manager.invoke_confirm(self, event)
        return self.execute(context)


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


class RELIEFSMITH_OT_check(bpy.types.Operator):
    """Check the whole piece as it is now, hidden parts too, or only the selection"""

    bl_idname = "reliefsmith.check"
    bl_label = "Check Piece"
    bl_options = {"REGISTER", "UNDO"}
    selected: standing.selection_only()

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        run.check(context.scene, context.view_layer, selected=self.selected)
        self.report({"INFO"}, f"{len(context.scene.reliefsmith.findings)} findings")
        return {"FINISHED"}


class RELIEFSMITH_OT_add_filament(bpy.types.Operator):
    """Add a filament to the stock"""

    bl_idname = "reliefsmith.add_filament"
    bl_label = "Add Filament"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        rows = context.scene.reliefsmith.filaments.stock
        row = rows.add()
        row.name = f"Filament {len(rows)}"
        return {"FINISHED"}


class RELIEFSMITH_OT_remove_row(bpy.types.Operator):
    """Remove this entry"""

    bl_idname = "reliefsmith.remove_row"
    bl_label = "Remove"
    bl_options = {"REGISTER", "UNDO"}
    what: bpy.props.EnumProperty(
        name="List", items=[(key, key, "") for key in ("marks", "filaments.stock", "heights.colors")]
    )
    index: bpy.props.IntProperty(name="Entry", min=0)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        rows = context.scene.reliefsmith.path_resolve(self.what)
        if self.index >= len(rows):
            raise RecipeError(f"the list has no entry {self.index + 1}; it has {len(rows)}")
        rows.remove(self.index)
        run.pending.touch(context.scene.reliefsmith, context)
        return {"FINISHED"}


_classes = (
    RELIEFSMITH_OT_make,
    RELIEFSMITH_OT_new_piece,
    RELIEFSMITH_OT_use_millimeters,
    RELIEFSMITH_OT_show_finding,
    RELIEFSMITH_OT_check,
    RELIEFSMITH_OT_add_filament,
    RELIEFSMITH_OT_remove_row,
    *colors.classes,
    *finish.classes,
    *library.classes,
    *files.classes,
    *handwork.classes,
    *picking.classes,
    *proofs.classes,
)


def register() -> None:
    """Register the operators."""
    for item in _classes:
        bpy.utils.register_class(item)


def unregister() -> None:
    """Take the operators away and let go of what they kept."""
    run.pending.stop()
    for item in reversed(_classes):
        bpy.utils.unregister_class(item)
    session.forget()
