# SPDX-License-Identifier: GPL-3.0-or-later
"""The sidebar tab "Relief", in the order of the work. Panels draw and do nothing else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import bpy

from . import contents, decided, handwork, proofs, swatches

_TAB = "Relief"
_THUMBNAIL = 6.0


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
            contents.empty(layout, context)
            return
        if state.image is not None and state.image.preview is not None:
            layout.template_icon(state.image.preview.icon_id, scale=_THUMBNAIL)
        layout.prop(state, "picture", text="")
        contents.units(layout, context)
        large = layout.column()
        large.scale_y = contents.LARGE
        large.operator("reliefsmith.make", icon="MESH_DATA")
        layout.prop(state, "live")
        contents.outcome(layout, context)
        contents.piece(layout, context)


Draw = Callable[[Any, bpy.types.Context], None]
# Panels in the order of the work: title, title of the panel it stands in, section of the recipe, what else
# it draws before and after that, open at first.
_PANELS: tuple[tuple[str, str, str, Draw | None, Draw | None, bool], ...] = (
    ("Decisions", "", "", decided.draw, None, False),
    ("Form", "", "form", contents.form, None, False),
    ("Artwork", "", "size", None, None, False),
    ("Background", "Artwork", "background", None, contents.background, False),
    ("Reading", "Artwork", "artwork", None, None, False),
    ("Colors", "", "", swatches.colors, None, True),
    ("Finding Colors", "Colors", "colors", None, swatches.palette, False),
    ("Boundaries", "Colors", "areas", None, None, False),
    ("Corrections", "Colors", "", contents.marks, None, False),
    ("Base", "", "base", None, None, False),
    ("Fine Strokes", "Base", "motif", None, None, False),
    ("Separate Pieces", "Base", "pieces", None, None, False),
    ("Hanging", "", "hang", contents.hole, None, False),
    ("Standing", "Base", "stand", None, None, False),
    ("Handle", "Base", "handle", None, None, False),
    ("Housing", "Base", "housing", None, None, False),
    ("Texts", "", "", contents.lettering, None, False),
    ("Back", "Texts", "back", None, None, False),
    ("Heights", "", "heights", None, contents.cut, True),
    ("Tops", "Heights", "heights", None, None, False),
    ("Sculpting", "Heights", "heights", handwork.draw, None, False),
    ("Findings", "", "", contents.findings, None, True),
    ("Printer", "", "printer", None, None, False),
    ("Larger Than the Bed", "Printer", "seams", None, contents.cuts, False),
    ("Test Piece", "Printer", "printer", None, None, False),
    ("Time and Material", "Printer", "printer", None, None, False),
    ("Filaments", "Printer", "filaments", contents.stock, None, False),
    ("Order", "", "order", None, None, False),
    ("Costs", "Order", "cost", None, None, False),
    ("Quote", "Order", "cost", None, None, False),
    ("Beds", "Order", "beds", None, None, False),
    ("Proofs", "", "", proofs.draw, None, False),
    ("Export", "", "", contents.export, None, True),
)

# Panels that show some settings of a section only; another panel of the same section shows the others.
_ONLY = {
    "Reading": ("kind", "crop", "corners", "mirror"),  # limits that keep a file from harm are set in a recipe
    "Test Piece": ("least_stroke_mm", "least_gap_mm", "hole_loss_mm"),
    "Printer": ("nozzle_mm", "bed_mm", "filaments"),
    "Costs": ("filament_per_kg", "machine_per_hour", "hand_per_hour", "currency"),
    "Tops": ("top", "edge_mm", "edge_deg", "crown_mm", "crown_reach_mm", "higher", "least_mm"),
    "Sculpting": ("hand", "hand_origin", "hand_step", "hand_range_mm", "hand_reach"),
}


def _is_shown(title: str, section: str, key: str) -> bool:
    """Return whether a panel shows a setting of its section."""
    if title in _ONLY:
        return key in _ONLY[title]
    return all(key not in _ONLY.get(other, ()) for other, _, of, *_ in _PANELS if of == section)


def _panel_class(row: tuple[str, str, str, Draw | None, Draw | None, bool]) -> type[bpy.types.Panel]:
    """Return the panel of one row of the table."""
    title, parent, section, before, after, is_open = row

    def draw(self: Any, context: bpy.types.Context) -> None:
        self.layout.use_property_split = True
        self.layout.use_property_decorate = False
        if before:
            before(self.layout, context)
        if section:
            group = getattr(context.scene.reliefsmith, section)
            contents.section(self.layout, group, lambda key: _is_shown(title, section, key))
        if after:
            after(self.layout, context)

    body = {
        "bl_label": title,
        "bl_idname": _name(title),
        "bl_options": set() if is_open else {"DEFAULT_CLOSED"},
        "draw": draw,
        "__doc__": f"{title}, one step of the work",
    }
    if parent:
        body["bl_parent_id"] = _name(parent)
    return type(_name(title), (_Tab, bpy.types.Panel), body)


def _name(title: str) -> str:
    return "RELIEFSMITH_PT_" + title.lower().replace(" ", "_")


_classes: list[type] = []


def register() -> None:
    """Register the panels, in the order in which they stand."""
    _classes.extend([RELIEFSMITH_PT_relief, *(_panel_class(row) for row in _PANELS)])
    for item in _classes:
        bpy.utils.register_class(item)


def unregister() -> None:
    """Take the panels away again."""
    while _classes:
        bpy.utils.unregister_class(_classes.pop())
