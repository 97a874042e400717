# SPDX-License-Identifier: GPL-3.0-or-later
"""The commands of hand relief: a skin to sculpt on, taking over, forgetting."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.errors import RecipeError
from reliefsmith.progress import drain

from . import bridge, pieces, run, sculpting, showing, slices
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
    return showing.show(pieces.named(name), relief)


class RELIEFSMITH_OT_prepare_sculpting(NeedsPicture, slices.Sliced, bpy.types.Operator):
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

    def begin(self, context: Any) -> Any:
        return self._steps(context.scene, _piece(context))

    def _steps(self, scene: bpy.types.Scene, piece: bpy.types.Collection) -> Any:
        """Make the piece with a skin; given up, it has the skin of before."""
        before, self._name = sculpting.skin_mm(piece), piece.name
        try:
            self._count = yield from sculpting.prepare_steps(piece, self.step_mm)
            return (yield from run.asked(scene)[1])
        except BaseException:
            piece = pieces.named(self._name)
            if piece is not None and bridge.part_objects(piece):
                sculpting.ask(piece, before)
            raise

    def end(self, _context: Any, relief: Any) -> set[str]:
        showing.show(pieces.named(self._name), relief)
        words = f"about {self._count:,} points to sculpt on; leave Sculpt Mode to take them over"
        self.report({"INFO"}, words)
        return {"FINISHED"}


class RELIEFSMITH_OT_take_over(NeedsPicture, slices.Sliced, bpy.types.Operator):
    """Take what was changed by hand over as hand relief, which stays through every later change"""

    bl_idname = "reliefsmith.take_over"
    bl_label = "Take Over"
    bl_options = {"REGISTER", "UNDO"}

    def begin(self, context: Any) -> Any:
        piece = _piece(context)
        words = bridge.busy(piece)
        if words:
            raise RecipeError(words)
        return self._steps(context.scene, piece)

    def _steps(self, scene: bpy.types.Scene, piece: bpy.types.Collection) -> Any:
        self._name = piece.name
        self._said = yield from sculpting.take_over_steps(piece)
        return (yield from run.asked(scene)[1])

    def end(self, _context: Any, relief: Any) -> set[str]:
        aside = showing.show(pieces.named(self._name), relief)
        words = f"{self._said}: {', '.join(aside)}" if aside else self._said
        self.report({"WARNING" if aside else "INFO"}, words)
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
