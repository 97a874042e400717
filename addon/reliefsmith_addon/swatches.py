# SPDX-License-Identifier: GPL-3.0-or-later
"""The colors in the panels: a box for each part's, wells for those that are given, merged or left out."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.colorimetry.words import color_word

from . import properties
from .wrapping import wrapped


def colors(layout: Any, context: bpy.types.Context) -> None:
    """A box for each color, what is set aside, and clicks that choose one."""
    state = context.scene.reliefsmith
    if not state.parts:
        wrapped(layout, context, "Make the relief to see its colors", "INFO")
    for item in state.parts:
        _color(layout.box().column(align=True), state, item)
    for item in (*state.colors.merge, *state.colors.omit):
        _set_aside(layout.row(align=True), item)
    if state.parts:
        row = layout.row(align=True)
        row.operator("reliefsmith.pick_color", text="Base", icon="EYEDROPPER").role = "base"
        row.operator("reliefsmith.pick_color", text="Leave Out", icon="EYEDROPPER").role = "omit"


def _color(column: Any, state: Any, item: Any) -> None:
    """Chip, name, share and mass; filament; height of its own; other roles."""
    row = column.row(align=True)
    _well(row, item, "chip")
    name = row.row()
    name.alignment = "LEFT"
    name.operator("reliefsmith.pick_part", text=item.name, emboss=False).part = item.name
    amount = row.row()
    amount.alignment = "RIGHT"
    amount.label(
        text=f"{100 * item.share:.0f} %   {item.mass_g:.1f} g" if item.share else f"{item.mass_g:.1f} g"
    )
    if item.filament:
        column.label(text=item.filament, icon="LINKED")
    column.prop(item, "finish", text="")
    row = column.row(align=True)
    if item.role == "base":
        if state.colors.use_base:
            given = row.operator("reliefsmith.use_color", text="Choose Again", icon="LOOP_BACK")
            given.part, given.role = item.name, "auto"
        return
    _height(row, state, item)
    for role, icon in (("base", "MESH_PLANE"), ("omit", "X")):
        if role == "omit":
            row.context_pointer_set("reliefsmith_part", item)
            row.menu("RELIEFSMITH_MT_merge", text="", icon="AUTOMERGE_ON")
        given = row.operator("reliefsmith.use_color", text="", icon=icon)
        given.part, given.role = item.name, role


def _height(row: Any, state: Any, item: Any) -> None:
    """The height of a color's motifs where it has one of its own, and the button that gives or takes it."""
    color = properties.hex_of(item.color)
    own = next((one for one in state.heights.colors if properties.hex_of(one.color) == color), None)
    if own is not None:
        row.use_property_split = False
        row.prop(own, "height_mm", text="")
    if own is not None or state.heights.style in ("auto", "raised"):
        words = "" if own is not None else "Own Height"
        given = row.operator(
            "reliefsmith.own_height", text=words, icon="LOOP_BACK" if own else "EMPTY_SINGLE_ARROW"
        )
        given.part, given.own = item.name, own is None


def _set_aside(row: Any, item: Any) -> None:
    """A color that is merged or left out, and the button that takes it back."""
    color, merged = properties.hex_of(item.color), hasattr(item, "into")
    for key in ("color", "into") if merged else ("color",):
        _well(row, item, key)
    word = color_word(tuple(properties.bytes_of(color)))
    row.label(text=f"{word} {'merged' if merged else 'left out'}")
    row.operator("reliefsmith.keep_color", text="", icon="LOOP_BACK").color = color


def palette(layout: Any, context: bpy.types.Context) -> None:
    """The flat colors where they are given: a well for each, and buttons that add and take away."""
    state = context.scene.reliefsmith
    column = layout.column(align=True)
    column.use_property_split = False
    for index, item in enumerate(state.colors.palette):
        row = column.row(align=True)
        row.prop(item, "color", text="")
        remove = row.operator("reliefsmith.remove_row", text="", icon="X")
        remove.what, remove.index = "colors.palette", index
    if not len(state.colors.palette):
        wrapped(layout, context, "The colors are found in the picture; give them to have just these")
    row = layout.row(align=True)
    row.operator("reliefsmith.add_color", icon="ADD")
    if state.parts:
        row.operator("reliefsmith.give_found")


def _well(row: Any, item: Any, key: str) -> None:
    chip = row.row()
    chip.scale_x = 0.5
    chip.prop(item, key, text="")
