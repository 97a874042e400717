# SPDX-License-Identifier: GPL-3.0-or-later
"""Commands on the colors of the picture: base, merge, leave out, take back, a height of their own."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith import Recipe
from reliefsmith.errors import RecipeError

from . import properties
from .commands import told

_ROLES = {
    "base": "Make the base in this color",
    "auto": "Let the color of the base be chosen again",
    "merge": "Give the areas of this color to another color",
    "omit": "Leave the areas of this color out",
    "background": "Everything of this color is background",
}


def with_role(recipe: Recipe, color: str, role: str, into: str = "") -> Recipe:
    """Return a recipe in which a color of the picture has another role; `into` is what it merges into."""
    colors = recipe.colors
    if role in ("base", "auto"):
        return recipe.with_values({"colors.base": color if role == "base" else "auto"})
    if role == "background":
        return recipe.with_values({"background.color": color})
    if role == "merge":
        return recipe.with_values({"colors.merge": [*colors.merge, (color, into)]})
    return recipe.with_values({"colors.omit": [*colors.omit, color]})


def without_role(recipe: Recipe, color: str) -> Recipe:
    """Return a recipe in which a color is neither merged nor left out."""
    merge = [pair for pair in recipe.colors.merge if pair[0] != color]
    omit = [item for item in recipe.colors.omit if item != color]
    return recipe.with_values({"colors.merge": merge, "colors.omit": omit})


def with_height(recipe: Recipe, color: str, height_mm: float | None) -> Recipe:
    """Return a recipe in which a color's motifs have a height of their own, or None for that of all."""
    rows = [row for row in recipe.heights.colors if row.color != color]
    own = [] if height_mm is None else [{"color": color, "height_mm": height_mm}]
    return recipe.with_values({"heights.colors": [*rows, *own]})


def color_of(state: Any, part: str) -> str:
    """Return the color of a part as the recipe writes it.

    Raises
    ------
    RecipeError
        If there is no such part.
    """
    if part not in state.parts:
        raise RecipeError(f"there is no part {part!r}; make the relief first")
    return properties.hex_of(state.parts[part].color)


class RELIEFSMITH_OT_use_color(bpy.types.Operator):
    """Give a color of the picture another role"""

    bl_idname = "reliefsmith.use_color"
    bl_label = "Use Color"
    bl_options = {"REGISTER", "UNDO"}
    part: bpy.props.StringProperty(name="Part", description="Name of the part whose color it is")
    into: bpy.props.StringProperty(name="Into", description="Part whose color takes the areas, to merge")
    role: bpy.props.EnumProperty(
        name="Role", items=[(key, key.title(), words) for key, words in _ROLES.items() if key != "background"]
    )

    @classmethod
    def description(cls, _context: bpy.types.Context, given: Any) -> str:
        return f"Give this color to {given.into}" if given.into else _ROLES[given.role]

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        color = color_of(state, self.part)
        into = color_of(state, self.into) if self.role == "merge" else ""
        properties.from_recipe(state, with_role(properties.to_recipe(state), color, self.role, into))
        return {"FINISHED"}


class RELIEFSMITH_OT_keep_color(bpy.types.Operator):
    """Take a color back that was merged or left out"""

    bl_idname = "reliefsmith.keep_color"
    bl_label = "Keep Color"
    bl_options = {"REGISTER", "UNDO"}
    color: bpy.props.StringProperty(name="Color", description='Such as "#1e8a8a"')

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state)
        kept = without_role(recipe, self.color)
        if kept == recipe:
            raise RecipeError(f"the color {self.color!r} is neither merged nor left out")
        properties.from_recipe(state, kept)
        return {"FINISHED"}


class RELIEFSMITH_OT_own_height(bpy.types.Operator):
    """Give the motifs of this color a height of their own, or take it away again"""

    bl_idname = "reliefsmith.own_height"
    bl_label = "Own Height"
    bl_options = {"REGISTER", "UNDO"}
    part: bpy.props.StringProperty(name="Part", description="Name of the part whose color it is")
    own: bpy.props.BoolProperty(name="Own", description="Whether it has a height of its own", default=True)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        recipe = properties.to_recipe(state)
        height_mm = recipe.heights.motif_mm if self.own else None
        properties.from_recipe(state, with_height(recipe, color_of(state, self.part), height_mm))
        return {"FINISHED"}


class RELIEFSMITH_OT_add_color(bpy.types.Operator):
    """Give a flat color; where any is given, the picture has just the given ones"""

    bl_idname = "reliefsmith.add_color"
    bl_label = "Give Color"
    bl_options = {"REGISTER", "UNDO"}
    color: bpy.props.StringProperty(name="Color", description='Such as "#1e8a8a"', default="#808080")

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        return _give(context, [*properties.to_recipe(context.scene.reliefsmith).colors.palette, self.color])


class RELIEFSMITH_OT_give_found(bpy.types.Operator):
    """Give the colors that were found, to change them one by one"""

    bl_idname = "reliefsmith.give_found"
    bl_label = "Those Found"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        parts = [part for part in context.scene.reliefsmith.parts if part.share]
        return _give(context, [properties.hex_of(part.color) for part in parts])


def _give(context: bpy.types.Context, palette: list[str]) -> set[str]:
    state = context.scene.reliefsmith
    recipe = properties.to_recipe(state).with_values({"colors.palette": palette, "colors.count": 0})
    properties.from_recipe(state, recipe)
    return {"FINISHED"}


class RELIEFSMITH_MT_merge(bpy.types.Menu):
    """Colors that can take the areas of a color; the layout says which color by `reliefsmith_part`"""

    bl_label = "Merge Into"

    def draw(self, context: bpy.types.Context) -> None:
        chosen = context.reliefsmith_part.name
        for other in context.scene.reliefsmith.parts:
            if other.name != chosen:
                given = self.layout.operator("reliefsmith.use_color", text=other.name)
                given.part, given.role, given.into = chosen, "merge", other.name


classes = (
    RELIEFSMITH_OT_use_color,
    RELIEFSMITH_OT_keep_color,
    RELIEFSMITH_OT_own_height,
    RELIEFSMITH_OT_add_color,
    RELIEFSMITH_OT_give_found,
    RELIEFSMITH_MT_merge,
)
