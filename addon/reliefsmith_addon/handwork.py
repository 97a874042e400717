# SPDX-License-Identifier: GPL-3.0-or-later
"""The commands of hand relief: a skin to sculpt on, taking over, forgetting."""

from __future__ import annotations

import bpy

from reliefsmith.progress import drain

from . import bridge, run, sculpting
from .commands import NeedsPicture, told


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
        count = sculpting.prepare(context.scene, self.step_mm)
        run.show(context.scene, drain(run.asked(context.scene)))
        self.report({"INFO"}, f"about {count:,} points to sculpt on; leave Sculpt Mode to take them over")
        return {"FINISHED"}


class RELIEFSMITH_OT_take_over(NeedsPicture, bpy.types.Operator):
    """Take what was changed by hand over as hand relief, which stays through every later change"""

    bl_idname = "reliefsmith.take_over"
    bl_label = "Take Over"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        words = bridge.busy(context.scene)
        if words:
            self.report({"ERROR"}, words)
            return {"CANCELLED"}
        said = sculpting.take_over(context.scene)
        aside = run.show(context.scene, drain(run.steps(context.scene)))
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
        sculpting.forget(context.scene)
        run.show(context.scene, drain(run.asked(context.scene)))
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        return context.window_manager.invoke_confirm(self, event)


def draw(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    """Draw the commands, and what was said last."""
    scene = context.scene
    layout.operator(RELIEFSMITH_OT_prepare_sculpting.bl_idname, icon="SCULPTMODE_HLT")
    layout.operator(RELIEFSMITH_OT_take_over.bl_idname, icon="IMPORT")
    if sculpting.said(scene):
        layout.label(text=sculpting.said(scene))
        layout.operator(RELIEFSMITH_OT_forget_hand.bl_idname, icon="X")


classes = (RELIEFSMITH_OT_prepare_sculpting, RELIEFSMITH_OT_take_over, RELIEFSMITH_OT_forget_hand)
