# SPDX-License-Identifier: GPL-3.0-or-later
"""What was decided for the artist: rows with the reason, and other values a click away."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.colorimetry.words import color_word, parse_hex
from reliefsmith.errors import RecipeError
from reliefsmith.jobs.decisions import decisions
from reliefsmith.recipe.recipe import known_keys

from . import labels, properties
from .commands import told
from .wrapping import wrapped

_A_ROW = 2  # other values beside each other


def keep(state: Any, result: Any) -> None:
    """Put the decisions on a piece where the panel reads them."""
    state.decisions.clear()
    for made in decisions(result):
        row = state.decisions.add()
        row.name, row.setting, row.taken, row.why = made.title, made.setting, made.taken, made.why
        for value in made.others:
            other = row.others.add()
            other.name = value
            other.is_color = value.startswith("#")
            if other.is_color:
                other.color = [part / 255 for part in parse_hex(value)]


def draw(layout: Any, context: bpy.types.Context) -> None:
    """A box for each decision: what is taken and why, and a button for each other value."""
    state = context.scene.reliefsmith
    if not state.decisions:
        wrapped(layout, context, "Make the relief to see what was decided", "INFO")
    for made in state.decisions:
        box = layout.box().column()
        wrapped(box, context, f"{made.name}: {made.taken}")
        if made.why:
            wrapped(box, context, made.why, "INFO")
        grid = box.grid_flow(row_major=True, columns=_A_ROW, even_columns=True)
        for other in made.others:
            _other(grid.row(align=True), made, other)


def _other(row: Any, made: Any, other: Any) -> None:
    if other.is_color:
        well = row.row()
        well.scale_x = 0.4
        well.prop(other, "chip", text="")
    given = row.operator("reliefsmith.decide", text=_words(other.name))
    given.setting, given.value = made.setting, other.name


def _words(value: str) -> str:
    """Return how a button calls a value."""
    if value.startswith("#"):
        return color_word(parse_hex(value)).title()
    return "Choose Again" if value == "auto" else labels.title(value)


class RELIEFSMITH_OT_decide(bpy.types.Operator):
    """Decide this otherwise"""

    bl_idname = "reliefsmith.decide"
    bl_label = "Decide"
    bl_options = {"REGISTER", "UNDO"}
    setting: bpy.props.StringProperty(name="Setting", description='Such as "heights.style"')
    value: bpy.props.StringProperty(name="Value", description='Such as "flush", or a color "#1e8a8a"')

    @classmethod
    def description(cls, _context: bpy.types.Context, given: Any) -> str:
        return f"Set {given.setting} to {given.value}"

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        if self.setting not in known_keys():
            raise RecipeError(f"there is no setting {self.setting!r}; choose one of the rows")
        properties.from_recipe(state, properties.to_recipe(state).with_values({self.setting: self.value}))
        return {"FINISHED"}


classes = (RELIEFSMITH_OT_decide,)
