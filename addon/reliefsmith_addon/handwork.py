# SPDX-License-Identifier: GPL-3.0-or-later
"""The commands of hand relief: a skin to sculpt on, taking over, forgetting."""

from __future__ import annotations

import bpy

from reliefsmith.errors import RecipeError
from reliefsmith.progress import drain

from . import bridge, pieces, run, sculpting
from .commands import NeedsPicture, told


def _piece(context: bpy.types.Context) -> bpy.types.Collection:
    """Return the piece that is meant.

    Raises
    ------
    RecipeError
        If there is none yet.
    """
    piece = pieces.current(context.scene)
    if piece is None:
        raise RecipeError("there is no relief to sculpt; make it first")
    return piece


def _make(context: bpy.types.Context) -> list[str]:
    """Make the piece that is meant; returns what was set aside."""
    name, running = run.asked(context.scene)
    relief = drain(running)
    return run.show(pieces.named(name), relief)


class RELIEFSMITH_OT_prepare_sculpting(NeedsPicture, bpy.types.Operator):
    """Give the parts tops with even points to sculpt on; walls and rims are masked and stay exact"""

    bl_idname = "reliefsmith.prepare_sculpting"
    bl_label = "Prepare for Sculpting"
    bl_options = {"REGISTER", "UNDO"}
    step_mm: bpy.props.FloatProperty(
        name="Point Distance",
        description="Distance of the points of the skin (mm); half of it takes four times as many",
        default=0.15,
        min=0.1,
        max=0.3,
        precision=2,
    )

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        count = sculpting.prepare(_piece(context), self.step_mm)
        _make(context)
        self.report({"INFO"}, f"about {count:,} points to sculpt on; leave Sculpt Mode to take them over")
        return {"FINISHED"}


class RELIEFSMITH_OT_take_over(NeedsPicture, bpy.types.Operator):
    """Take what was changed by hand over as hand relief, which stays through every later change"""

    bl_idname = "reliefsmith.take_over"
    bl_label = "Take Over"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        piece = _piece(context)
        words = bridge.busy(piece)
        if words:
            self.report({"ERROR"}, words)
            return {"CANCELLED"}
        said = sculpting.take_over(piece)
        aside = _make(context)
        if aside:
            said += f": {', '.join(aside)}"
        self.report({"WARNING" if aside else "INFO"}, said)
        return {"FINISHED"}


class RELIEFSMITH_OT_forget_hand(NeedsPicture, bpy.types.Operator):
    """Take the hand relief away from this piece"""

    bl_idname = "reliefsmith.forget_hand"
    bl_label = "Remove Hand Relief"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        sculpting.forget(_piece(context))
        _make(context)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        return context.window_manager.invoke_confirm(self, event)


def draw(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    """Draw the commands, and what was said last."""
    said = sculpting.said(pieces.current(context.scene))
    layout.operator(RELIEFSMITH_OT_prepare_sculpting.bl_idname, icon="SCULPTMODE_HLT")
    layout.operator(RELIEFSMITH_OT_take_over.bl_idname, icon="IMPORT")
    if said:
        layout.label(text=said)
        layout.operator(RELIEFSMITH_OT_forget_hand.bl_idname, icon="X")


classes = (RELIEFSMITH_OT_prepare_sculpting, RELIEFSMITH_OT_take_over, RELIEFSMITH_OT_forget_hand)
