# SPDX-License-Identifier: GPL-3.0-or-later
"""What stands in the panels: colors, corrections, findings, settings. Drawn, never changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import bpy

from reliefsmith.recipe.tables import MARK_KINDS

from . import bridge, finish, hand, pictures, pieces, properties
from .labels import title
from .state import mark_width
from .wrapping import room, wrapped

LARGE = 1.5  # height of a main button, in rows
_ICONS = {"stop": "CANCEL", "warn": "ERROR", "note": "INFO"}
_LABEL_SHARE = 0.31  # of the sidebar's width stands before a field, as Blender splits a row


def empty(layout: Any, context: bpy.types.Context) -> None:
    """What to do first."""
    wrapped(layout, context, "Load a picture, or drop one into the view", "IMAGE_DATA")
    large = layout.column()
    large.scale_y = LARGE
    large.operator("reliefsmith.load_picture", icon="FILE_FOLDER")


def units(layout: Any, context: bpy.types.Context) -> None:
    """A word of warning in a scene of other units than the parts'."""
    if not bridge.in_millimeters(context.scene) and context.scene.objects:
        wrapped(layout, context, "Parts are in millimeters, this scene is not", "ERROR")
        layout.operator("reliefsmith.use_millimeters")


def outcome(layout: Any, context: bpy.types.Context) -> None:
    """What went wrong, or what the last run came to."""
    state = context.scene.reliefsmith
    if state.trouble:
        box = layout.box()
        box.alert = True
        wrapped(box, context, state.trouble, "ERROR")
    copies(layout, context)
    if state.estimate:
        wrapped(layout, context, state.size_text, "CUBE")
        wrapped(layout, context, state.estimate, "TIME")


def copies(layout: Any, context: bpy.types.Context) -> None:
    """What stands in Finish in place of parts, and what to do with it where the settings changed since."""
    piece = pieces.current(context.scene)
    for item in finish.copies(piece):
        if hand.ASIDE in item:
            wrapped(layout, context, f"In Finish, as you changed it: {item.name}", "SCULPTMODE_HLT")
        newer = finish.later(piece, item)
        if newer is not None:
            wrapped(layout, context, f"{item.name} is left out: {newer.name} stands for its part", "INFO")
        elif item[bridge.PART] not in bridge.part_objects(piece):
            wrapped(layout, context, f"{item.name} is left out: there is no such part now", "INFO")
        elif finish.is_stale(piece, item):
            words = f"{item.name} is of earlier settings: {finish.since(piece, item)}"
            wrapped(layout, context, words, "ERROR")
            row = layout.row(align=True)
            for command in ("bring_along", "keep_copy"):
                row.operator(f"reliefsmith.{command}").item = item.name


def piece(layout: Any, context: bpy.types.Context) -> None:
    """Where the picture is kept, which piece this is, and another one."""
    state, piece = context.scene.reliefsmith, pieces.current(context.scene)
    layout.prop(state, "picture_place", text="")
    if pictures.is_gone(state):
        wrapped(layout, context, "The picture's file is gone; the copy in this file is used", "INFO")
    row = layout.row(align=True)
    if piece is not None:
        row.prop(piece, "name", text="", icon="OUTLINER_COLLECTION")
    row.operator("reliefsmith.new_piece", text="", icon="ADD")


def form(layout: Any, _context: bpy.types.Context) -> None:
    """The presets, each for a form."""
    layout.operator_menu_enum("reliefsmith.use_preset", "preset", text="Use Preset", icon="PRESET")


def background(layout: Any, _context: bpy.types.Context) -> None:
    """A click on the color that should have been background."""
    given = layout.operator("reliefsmith.pick_color", text="Pick Background", icon="EYEDROPPER")
    given.role = "background"


def marks(layout: Any, context: bpy.types.Context) -> None:
    """The corrections by place, and a click that adds one."""
    state = context.scene.reliefsmith
    kind = MARK_KINDS[state.mark_kind]
    layout.prop(state, "mark_kind")
    if kind.value:
        _next_value(layout, state, kind)
    wrapped(layout, context, kind.does.capitalize())
    layout.operator("reliefsmith.add_mark", text="Mark a Place", icon="CURSOR").kind = state.mark_kind
    for index, mark in enumerate(state.marks):
        _mark(layout.box().column(align=True), index, mark)


def _next_value(layout: Any, state: Any, kind: Any) -> None:
    """The color or width of the next mark, with a box to tick where the kind can go without."""
    name = "mark_color" if kind.value == "color" else mark_width(state.mark_kind)
    if kind.needs_value:
        row = layout.row()
        row.prop(state, name)
    else:
        row = layout.row(heading=state.bl_rna.properties[name].name)
        row.prop(state, "mark_has_value", text="")
        row.prop(state, name, text="")
    if kind.value == "color":
        row.operator("reliefsmith.pick_color", text="", icon="EYEDROPPER").role = "mark"


def _mark(column: Any, index: int, mark: Any) -> None:
    """One correction: what it is, its color or width, its place."""
    column.use_property_split = False
    row = column.row(align=True)
    row.label(text=title(mark.kind))
    if mark.use_value:
        name = properties.as_color if mark.value_is_color else properties.as_number
        row.prop(mark, name("value"), text="")
    remove = row.operator("reliefsmith.remove_row", text="", icon="X")
    remove.what, remove.index = "marks", index
    if mark.use_at_mm:
        column.row(align=True).prop(mark, "at_mm", text="")
    elif mark.use_at:
        column.prop(mark, "at", text="")
    else:
        column.label(text="in a polygon")


def lettering(layout: Any, context: bpy.types.Context) -> None:
    """The texts that are set on the piece."""
    for index, text in enumerate(context.scene.reliefsmith.lettering):
        box = layout.box()
        row = box.row(align=True)
        row.prop(text, "text", text="")
        remove = row.operator("reliefsmith.remove_row", text="", icon="X")
        remove.what, remove.index = "lettering", index
        section(box, text, lambda key: key != "text")
    layout.operator("reliefsmith.add_text", icon="ADD")


def stock(layout: Any, context: bpy.types.Context) -> None:
    """The filaments at hand."""
    stock = context.scene.reliefsmith.filaments.stock
    for index, spool in enumerate(stock):
        box = layout.box()
        row = box.row(align=True)
        row.prop(spool, "color", text="")
        row.prop(spool, "name", text="")
        remove = row.operator("reliefsmith.remove_row", text="", icon="X")
        remove.what, remove.index = "filaments.stock", index
        section(box, spool, lambda key: key != "color")
    layout.operator("reliefsmith.add_filament", icon="ADD")
    for index, own in enumerate(context.scene.reliefsmith.filaments.parts):
        row = layout.row(align=True)
        row.label(text=f"{own.part}, printed in")
        row.prop(own, "color", text="")
        remove = row.operator("reliefsmith.remove_row", text="", icon="X")
        remove.what, remove.index = "filaments.parts", index


def cuts(layout: Any, context: bpy.types.Context) -> None:
    """The lines along which the piece is cut."""
    state = context.scene.reliefsmith
    for index, line in enumerate(state.seams.lines):
        box = layout.box()
        row = box.row(align=True)
        row.label(text=f"Line {index + 1}")
        remove = row.operator("reliefsmith.remove_row", text="", icon="X")
        remove.what, remove.index = "seams.lines", index
        section(box, line, lambda _key: True)
    if len(state.seams.lines) and state.seams.mode != "line":
        wrapped(layout, context, "Lines count where the piece is cut along lines", "INFO")
    layout.operator("reliefsmith.add_cut", icon="ADD")


def hole(layout: Any, _: bpy.types.Context) -> None:
    layout.operator("reliefsmith.place_hole", icon="CURSOR")


def cut(layout: Any, context: bpy.types.Context) -> None:
    state = context.scene.reliefsmith
    style = next((made for made in state.decisions if made.setting == "heights.style"), None)
    if style is not None and state.heights.style == "auto":
        wrapped(layout, context, f"Taken: {style.taken}: {style.why}", "INFO")
    row = layout.row(heading="Look Inside")
    row.prop(state, "cut", text="")
    value = row.row()
    value.active = state.cut
    value.prop(state, "cut_mm", text="")
    if state.heights.face == "down":
        layout.prop(state, "as_printed")


def findings(layout: Any, context: bpy.types.Context) -> None:
    """What was found, the gravest first; each with its place and a mark there."""
    state = context.scene.reliefsmith
    if not state.estimate and not state.checked:
        wrapped(layout, context, "Make the relief to see what it found", "INFO")
    elif not state.findings:
        layout.label(text="Nothing to report", icon="CHECKMARK")
    elif any(item.has_place for item in state.findings):
        layout.prop(state, "show_findings")
    for index, item in enumerate(state.findings):
        box = layout.box()
        box.alert = item.severity == "stop"
        wrapped(box, context, f"{index + 1}  {item.message}", _ICONS.get(item.severity, "INFO"))
        if item.has_place:
            row = box.row(align=True)
            chosen = index == state.finding
            row.operator(
                "reliefsmith.show_finding", text="Show", icon="VIEWZOOM", depress=chosen
            ).index = index
            row.operator_context = "EXEC_DEFAULT"
            given = row.operator_menu_enum("reliefsmith.add_mark", "kind", text="Correct", icon="CURSOR")
            given.at_mm = item.place[:2]
    row = layout.row(align=True)
    row.operator("reliefsmith.check", icon="CHECKMARK")
    row.operator("reliefsmith.check", text="", icon="RESTRICT_SELECT_OFF").selected = True
    if any(item.code == "not-watertight" for item in state.findings):
        layout.operator("reliefsmith.mend", icon="MODIFIER")
    if state.checked:
        layout.label(text=state.checked)


def export(layout: Any, context: bpy.types.Context) -> None:
    large = layout.column()
    large.scale_y = LARGE
    large.operator("reliefsmith.export", icon="EXPORT")
    layout.operator("reliefsmith.export_scene", icon="SCENE_DATA")
    layout.prop(context.scene.reliefsmith, "audience")
    row = layout.row(align=True)
    row.operator("reliefsmith.load_recipe", icon="FILE_FOLDER")
    row.operator("reliefsmith.save_recipe", icon="FILE_TICK")


def section(layout: Any, group: Any, shown: Callable[[str], bool]) -> None:
    """Draw the settings of a section that are shown here; its lists of tables have places of their own."""
    known = group.bl_rna.properties
    keys = [key for key in known.keys() if not key.startswith("use_")]  # noqa: SIM118 - iterating gives values
    keys = [key for key in keys if key not in ("rna_type", "name") and known[key].type != "COLLECTION"]
    settings(layout, group, [key for key in keys if shown(key)])


def settings(layout: Any, group: Any, keys: Any) -> None:
    """Draw some settings; what may stay unset has a box to tick before it."""
    column = layout.column()
    most = room(bpy.context, _LABEL_SHARE, 0.0)
    for key in keys:
        about = group.bl_rna.properties[key]
        if "use_" + key not in group.bl_rna.properties:
            line = column.column()
            if about.type in ("FLOAT", "INT") and len(about.name) > most:
                line.use_property_split = False  # a long name has more room within its field
            line.prop(group, key)
            continue
        row = column.row(heading=about.name)
        row.prop(group, "use_" + key, text="")
        value = row.row()
        value.active = getattr(group, "use_" + key)
        value.prop(group, key, text="")
