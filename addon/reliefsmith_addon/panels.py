# SPDX-License-Identifier: GPL-3.0-or-later
"""The sidebar tab "Relief", in the order of the work. Panels draw and do nothing else."""

from __future__ import annotations

from typing import Any

import bpy

_TAB = "Relief"
_ICONS = {"stop": "CANCEL", "warn": "ERROR", "note": "INFO"}
# Panels in the order of the work: title, the recipe's sections in it, closed at first.
_SECTIONS = (
    ("Artwork", ("artwork", "size", "background"), True),
    ("Colors", ("colors", "areas"), True),
    ("Base", ("base", "motif", "pieces"), True),
    ("Hanging", ("hang",), True),
    ("Heights", ("heights",), False),
    ("Printer", ("printer", "filaments"), True),
    ("Order", ("order", "cost"), True),
)


class _Tab:
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = _TAB


class RELIEFSMITH_PT_relief(_Tab, bpy.types.Panel):
    """The picture and the main action"""

    bl_label = "Relief"

    def draw(self, context: bpy.types.Context) -> None:
        state = context.scene.reliefsmith
        layout = self.layout
        if not state.picture:
            layout.label(text="Load a picture, or drop one here", icon="IMAGE_DATA")
            layout.operator("reliefsmith.load_picture", icon="FILE_FOLDER")
            return
        layout.prop(state, "picture", text="")
        if abs(context.scene.unit_settings.scale_length - 0.001) > 1e-9 and context.scene.objects:
            layout.label(text="Parts are in millimeters, this scene is not", icon="ERROR")
            layout.operator("reliefsmith.use_millimeters")
        large = layout.column()
        large.scale_y = 1.4
        large.operator("reliefsmith.make", icon="MESH_DATA")
        layout.prop(state, "live")
        if state.trouble:
            layout.label(text=state.trouble, icon="ERROR")
        layout.operator("reliefsmith.export", icon="EXPORT")


class RELIEFSMITH_PT_findings(_Tab, bpy.types.Panel):
    """What the last run found"""

    bl_label = "Findings"

    def draw(self, context: bpy.types.Context) -> None:
        state = context.scene.reliefsmith
        if not state.estimate:
            self.layout.label(text="Make the relief to see what it found")
            return
        self.layout.label(text=state.estimate, icon="TIME")
        if not state.findings:
            self.layout.label(text="Nothing to report", icon="CHECKMARK")
        for index, item in enumerate(state.findings):
            row = self.layout.row()
            row.label(text=item.message, icon=_ICONS.get(item.severity, "INFO"))
            if item.has_place:
                row.operator("reliefsmith.show_finding", text="", icon="VIEWZOOM").index = index


class RELIEFSMITH_PT_parts(_Tab, bpy.types.Panel):
    """The parts of the last run: color, name, mass, and other roles for the color"""

    bl_label = "Parts"

    def draw(self, context: bpy.types.Context) -> None:
        state = context.scene.reliefsmith
        if not state.parts:
            self.layout.label(text="Make the relief to see its parts")
            return
        for item in state.parts:
            row = self.layout.row(align=True)
            chip = row.row()
            chip.enabled = False
            chip.prop(item, "color", text="")
            row.label(text=f"{item.name}  {item.mass_g:.1f} g")
            if item.role == "base":
                continue
            for role, icon in (("base", "MESH_PLANE"), ("omit", "X")):
                given = row.operator("reliefsmith.use_color", text="", icon=icon)
                given.part, given.role = item.name, role


class RELIEFSMITH_PT_recipe(_Tab, bpy.types.Panel):
    """Load and save all settings"""

    bl_label = "Recipe"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        self.layout.use_property_split = True
        self.layout.use_property_decorate = False
        self.layout.prop(context.scene.reliefsmith, "audience")
        self.layout.prop(context.scene.reliefsmith, "marks")
        row = self.layout.row(align=True)
        row.operator("reliefsmith.load_recipe", text="Load", icon="FILE_FOLDER")
        row.operator("reliefsmith.save_recipe", text="Save", icon="FILE_TICK")


def _settings_panel(title: str, sections: tuple[str, ...], closed: bool) -> type[bpy.types.Panel]:
    """Return a panel with every setting of some of the recipe's sections."""

    def draw(self: Any, context: bpy.types.Context) -> None:
        self.layout.use_property_split = True
        self.layout.use_property_decorate = False
        for name in sections:
            draw_section(self.layout, getattr(context.scene.reliefsmith, name))

    body = {
        "bl_label": title,
        "bl_options": {"DEFAULT_CLOSED"} if closed else set(),
        "draw": draw,
        "__doc__": f"Settings: {title.lower()}",
    }
    return type(f"RELIEFSMITH_PT_{title.lower()}", (_Tab, bpy.types.Panel), body)


def draw_section(layout: bpy.types.UILayout, group: Any) -> None:
    """Draw every setting of a section; what may stay unset has a box to tick before it."""
    column = layout.column()
    for key in group.bl_rna.properties.keys():  # noqa: SIM118 - iterating gives the values here
        if key in ("rna_type", "name") or key.startswith("use_"):
            continue
        if "use_" + key not in group.bl_rna.properties:
            column.prop(group, key)
            continue
        row = column.row(heading=group.bl_rna.properties[key].name)
        row.prop(group, "use_" + key, text="")
        value = row.row()
        value.active = getattr(group, "use_" + key)
        value.prop(group, key, text="")


class RELIEFSMITH_PT_trouble(_Tab, bpy.types.Panel):
    """Why the add-on cannot work here"""

    bl_label = "Relief"
    message = ""

    def draw(self, _context: bpy.types.Context) -> None:
        self.layout.label(text="The add-on cannot work here", icon="ERROR")
        for sentence in type(self).message.split("; "):
            self.layout.label(text=sentence)


_classes: list[type] = []


def register() -> None:
    """Register the panels, in the order in which they stand."""
    settings = [_settings_panel(*item) for item in _SECTIONS]
    _classes.extend([RELIEFSMITH_PT_relief, RELIEFSMITH_PT_parts, *settings])
    _classes.extend([RELIEFSMITH_PT_findings, RELIEFSMITH_PT_recipe])
    for item in _classes:
        bpy.utils.register_class(item)


def unregister() -> None:
    """Take the panels away again."""
    while _classes:
        bpy.utils.unregister_class(_classes.pop())


def register_trouble(message: str) -> None:
    """Register only a panel with a plain message."""
    RELIEFSMITH_PT_trouble.message = message
    bpy.utils.register_class(RELIEFSMITH_PT_trouble)


def unregister_trouble() -> bool:
    """Take the message away again; returns whether there was one."""
    if not RELIEFSMITH_PT_trouble.is_registered:
        return False
    bpy.utils.unregister_class(RELIEFSMITH_PT_trouble)
    return True
