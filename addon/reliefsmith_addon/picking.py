# SPDX-License-Identifier: GPL-3.0-or-later
"""Commands that take their place from a click in the 3D view; for a script it is one of their settings."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.errors import ArtworkError, RecipeError
from reliefsmith.progress import drain
from reliefsmith.recipe.tables import MARK_KINDS

from . import bridge, colors, pieces, properties, session, standing
from .commands import told
from .labels import title
from .state import mark_width

_KINDS = [(name, title(name), kind.does.capitalize()) for name, kind in MARK_KINDS.items() if kind.point]


class _Click:
    """A command that waits for one click in the 3D view; the wheel and the middle button still turn it."""

    bl_options = {"REGISTER", "UNDO"}
    asks = ""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        state = context.scene.reliefsmith
        if not state.estimate or (state.as_printed and state.heights.face == "down"):
            cls.poll_message_set("Turn As Printed off first" if state.estimate else "Make the relief first")
            return False
        return True

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if context.area is None or context.area.type != "VIEW_3D":
            self.report({"ERROR"}, "click in a 3D view: begin this from its sidebar")
            return {"CANCELLED"}
        context.window.cursor_modal_set("EYEDROPPER")
        context.workspace.status_text_set(f"{self.asks}  (Esc cancels)")
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type in ("ESC", "RIGHTMOUSE"):
            self.cancel(context)
            return {"CANCELLED"}
        if event.type != "LEFTMOUSE" or event.value != "PRESS":
            return {"PASS_THROUGH"}
        self.cancel(context)
        found = standing.under(context, event.mouse_x, event.mouse_y)
        if found is None:
            self.report({"ERROR"}, "that was no place on the piece; click in the 3D view")
            return {"CANCELLED"}
        self.take(*found)
        return self.execute(context)

    def cancel(self, context: bpy.types.Context) -> None:
        """Give the pointer and the status line back."""
        context.window.cursor_modal_restore()
        context.workspace.status_text_set(None)

    def take(self, _part: str, at_mm: tuple[float, float]) -> None:
        """Keep what was clicked."""
        self.at_mm = at_mm


def _place(what: str) -> Any:
    return bpy.props.FloatVectorProperty(
        name="Place", description=what, size=2, precision=2, options={"SKIP_SAVE"}
    )


class RELIEFSMITH_OT_place_hole(_Click, bpy.types.Operator):
    """Place the hanging hole by a click in the 3D view"""

    bl_idname = "reliefsmith.place_hole"
    bl_label = "Place Hole"
    asks = "Click where the hanging hole is to be"
    at_mm: _place("Center of the hole, in millimeters")

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state).with_values({"hang.at_mm": properties.place(self.at_mm)})
        properties.from_recipe(state, recipe)
        return {"FINISHED"}


class RELIEFSMITH_OT_add_mark(_Click, bpy.types.Operator):
    """Correct the piece at a place: what is done there, the kind says"""

    bl_idname = "reliefsmith.add_mark"
    bl_label = "Add Mark"
    asks = "Click the place that is meant"
    kind: bpy.props.EnumProperty(
        name="Kind",
        items=_KINDS,
    )
    color: bpy.props.StringProperty(
        name="Color", description='Such as "#1e8a8a"; empty takes the one of the panel'
    )
    value_mm: bpy.props.FloatProperty(
        name="Width", description="In millimeters; below 0 takes the one of the panel", default=-1.0
    )
    at_mm: _place("A point in the area, in millimeters")

    @classmethod
    def description(cls, _context: bpy.types.Context, given: Any) -> str:
        return MARK_KINDS[given.kind].does.capitalize()

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state)
        mark: dict[str, Any] = {"kind": self.kind, "at_mm": properties.place(self.at_mm)}
        value = self._value(state)
        if value is not None:
            mark["value"] = value
        properties.from_recipe(state, recipe.with_values({"marks": [*recipe.marks, mark]}))
        return {"FINISHED"}

    def _value(self, state: Any) -> str | float | None:
        """Return the color or width that is given, else that of the panel where the kind asks for one."""
        kind = MARK_KINDS[self.kind]
        from_panel = kind.needs_value or state.mark_has_value
        if kind.value == "color":
            return self.color or (properties.hex_of(state.mark_color) if from_panel else None)
        if kind.value == "mm" and self.value_mm >= 0:
            return properties.rounded(self.value_mm)
        if kind.value == "mm" and from_panel:
            return properties.rounded(getattr(state, mark_width(self.kind)))
        return None


class RELIEFSMITH_OT_pick_color(_Click, bpy.types.Operator):
    """Choose a color of the picture by a click on it"""

    bl_idname = "reliefsmith.pick_color"
    bl_label = "Pick Color"
    asks = "Click the color that is meant"
    role: bpy.props.EnumProperty(
        name="Role",
        items=[
            ("base", "Base", "The base gets this color"),
            ("omit", "Leave Out", "Areas of this color are left out"),
            ("background", "Background", "Everything of this color is background"),
            ("mark", "Mark", "Marks recolor to this color"),
        ],
    )
    at_mm: _place("A point in an area of that color, in millimeters")

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state)
        areas = drain(session.job(state).steps(recipe, "marked"))["marked"]
        color = areas.color_at(*self.at_mm)
        if color is None:
            raise ArtworkError("there is background at that place; click a color of the picture")
        if self.role == "mark":
            state.mark_color = [value / 255 for value in color]
            return {"FINISHED"}
        properties.from_recipe(
            state, colors.with_role(recipe, "#{:02x}{:02x}{:02x}".format(*color), self.role)
        )
        return {"FINISHED"}


class RELIEFSMITH_OT_pick_part(_Click, bpy.types.Operator):
    """Select a part, by its name or by a click on it"""

    bl_idname = "reliefsmith.pick_part"
    bl_label = "Pick Part"
    asks = "Click a part"
    part: bpy.props.StringProperty(name="Part", options={"SKIP_SAVE"})

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        return self.execute(context) if self.part else _Click.invoke(self, context, event)

    def take(self, part: str, _at_mm: tuple[float, float]) -> None:
        self.part = part

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        item = bridge.part_objects(pieces.current(context.scene)).get(self.part)
        if item is None:
            raise RecipeError(f"there is no part {self.part!r}; choose one of the relief's")
        standing.select(context.view_layer, item)
        return {"FINISHED"}


classes = (
    RELIEFSMITH_OT_place_hole,
    RELIEFSMITH_OT_add_mark,
    RELIEFSMITH_OT_pick_color,
    RELIEFSMITH_OT_pick_part,
)
