# SPDX-License-Identifier: GPL-3.0-or-later
"""The panel that stands alone where the add-on cannot work. Needs nothing of the bundled core."""

from __future__ import annotations

import bpy

from .wrapping import wrapped


class RELIEFSMITH_PT_trouble(bpy.types.Panel):
    """Why the add-on cannot work here"""

    bl_space_type, bl_region_type, bl_category = "VIEW_3D", "UI", "Relief"
    bl_label = "Relief"
    message = ""

    def draw(self, context: bpy.types.Context) -> None:
        self.layout.label(text="The add-on cannot work here", icon="ERROR")
        for sentence in type(self).message.split("; "):
            wrapped(self.layout, context, sentence)


def register(message: str) -> None:
    """Register only a panel with a plain message."""
    RELIEFSMITH_PT_trouble.message = message
    bpy.utils.register_class(RELIEFSMITH_PT_trouble)


def unregister() -> bool:
    """Take the message away again; returns whether there was one."""
    if not RELIEFSMITH_PT_trouble.is_registered:
        return False
    bpy.utils.unregister_class(RELIEFSMITH_PT_trouble)
    return True
