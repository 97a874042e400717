# SPDX-License-Identifier: GPL-3.0-or-later
"""A turntable to show the piece on: camera, lights, true colors, and its pictures rendered."""

from __future__ import annotations

from pathlib import Path

import bpy

from . import bridge, files, pieces, turntable
from .commands import told

_DIGITS = 2


class _NeedsParts:
    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not bridge.part_objects(pieces.current(context.scene)):
            cls.poll_message_set("Make the relief first")
            return False
        return True


class RELIEFSMITH_OT_turntable(_NeedsParts, bpy.types.Operator):
    """Set up camera, lights and a full turn, with colors shown as they are"""

    bl_idname = "reliefsmith.turntable"
    bl_label = "Set Up Turntable"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        turntable.set_up(context.scene, list(bridge.part_objects(pieces.current(context.scene)).values()))
        return {"FINISHED"}


class RELIEFSMITH_OT_render_proofs(_NeedsParts, bpy.types.Operator):
    """Render views from all round into a folder"""

    bl_idname = "reliefsmith.render_proofs"
    bl_label = "Render Proofs"
    directory: bpy.props.StringProperty(subtype="DIR_PATH")
    filter_folder: bpy.props.BoolProperty(default=True, options={"HIDDEN"})
    count: bpy.props.IntProperty(name="Views", description="Pictures of one turn", default=8, min=1, max=99)
    size: bpy.props.IntProperty(name="Size", description="Pixels a side", default=800, min=64, max=4096)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        turntable.set_up(context.scene, list(bridge.part_objects(pieces.current(context.scene)).values()))
        stem = Path(context.scene.reliefsmith.picture).stem
        folder = files.folder(self.directory)
        names = [folder / f"{stem}-turn-{n + 1:0{_DIGITS}}.png" for n in range(self.count)]
        turntable.render(context.scene, names, self.size)
        self.report({"INFO"}, f"{self.count} pictures written")
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}


classes = (RELIEFSMITH_OT_turntable, RELIEFSMITH_OT_render_proofs)
