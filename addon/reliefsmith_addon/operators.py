# SPDX-License-Identifier: GPL-3.0-or-later
"""The add-on's commands: each reads the properties, calls one function of the core and shows the result."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.errors import RecipeError
from reliefsmith.findings import count_words
from reliefsmith.recipe.sections.limits import MOST_CHARACTERS

from . import (
    bridge,
    colors,
    decided,
    files,
    finish,
    handwork,
    library,
    mending,
    overlay,
    picking,
    pieces,
    proofs,
    properties,
    run,
    session,
    showing,
    slices,
    standing,
)
from .commands import NeedsPicture, told

_LISTS = (
    *("marks", "lettering", "filaments.stock", "filaments.parts"),
    *("heights.colors", "colors.palette", "seams.lines"),
)
_HALF_CUT_MM, _BESIDE_MM = 60.0, 5.0  # how far a new line reaches before there is a piece, and beyond one


class RELIEFSMITH_OT_make(NeedsPicture, slices.Sliced, bpy.types.Operator):
    """Make the relief from the picture and bring its parts into the scene"""

    bl_idname = "reliefsmith.make"
    bl_label = "Make Relief"
    bl_options = {"REGISTER", "UNDO"}

    def begin(self, context: Any) -> Any:
        self._piece, running = run.asked(context.scene)
        return running

    def end(self, _context: Any, relief: Any) -> set[str]:
        piece = pieces.named(self._piece)
        if piece is None:
            raise RecipeError("the piece was deleted while it was made; make it again")
        aside = showing.show(piece, relief)
        if aside:
            self.report({"WARNING"}, f"changed by hand, so set aside in Finish: {', '.join(aside)}")
        self.report(
            {"INFO"},
            f"{count_words(len(relief.parts), 'part')}, {count_words(len(relief.findings), 'finding')}",
        )
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


class RELIEFSMITH_OT_add_text(bpy.types.Operator):
    """Add a text that is set on the piece, as large as its widest free area takes it"""

    bl_idname = "reliefsmith.add_text"
    bl_label = "Add Text"
    bl_options = {"REGISTER", "UNDO"}
    text: bpy.props.StringProperty(
        name="Text", description="What is to be read", default="Name", maxlen=MOST_CHARACTERS
    )

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state)
        added = [*recipe.lettering, {"text": self.text}]
        properties.from_recipe(state, recipe.with_values({"lettering": added}))
        return {"FINISHED"}


class RELIEFSMITH_OT_add_cut(bpy.types.Operator):
    """Add a line along which the piece is cut, level, through the middle of the artwork"""

    bl_idname = "reliefsmith.add_cut"
    bl_label = "Add Line"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        parts = bridge.part_objects(pieces.current(context.scene)).values()
        across = [corner[0] for item in parts for corner in item.bound_box] or [-_HALF_CUT_MM, _HALF_CUT_MM]
        recipe = properties.to_recipe(state)
        ends = round(min(across)) - _BESIDE_MM, round(max(across)) + _BESIDE_MM
        line = {"from_mm": [ends[0], 0.0], "to_mm": [ends[1], 0.0]}
        values = {"seams.mode": "line", "seams.lines": [*recipe.seams.lines, line]}
        properties.from_recipe(state, recipe.with_values(values))
        return {"FINISHED"}


class RELIEFSMITH_OT_remove_row(bpy.types.Operator):
    """Remove this entry"""

    bl_idname = "reliefsmith.remove_row"
    bl_label = "Remove"
    bl_options = {"REGISTER", "UNDO"}
    what: bpy.props.EnumProperty(name="List", items=[(key, key, "") for key in _LISTS])
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
    RELIEFSMITH_OT_add_filament,
    RELIEFSMITH_OT_add_text,
    RELIEFSMITH_OT_add_cut,
    RELIEFSMITH_OT_remove_row,
    *colors.classes,
    *decided.classes,
    *finish.classes,
    *library.classes,
    *files.classes,
    *handwork.classes,
    *mending.classes,
    *overlay.classes,
    *picking.classes,
    *proofs.classes,
)


def register() -> None:
    """Register the operators."""
    for item in _classes:
        bpy.utils.register_class(item)
    overlay.register()


def unregister() -> None:
    """Take the operators away and let go of what they kept."""
    overlay.unregister()
    run.pending.stop()
    for item in reversed(_classes):
        bpy.utils.unregister_class(item)
    session.forget()
