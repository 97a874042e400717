# SPDX-License-Identifier: GPL-3.0-or-later
"""Commands that show the piece: true colors, a turntable, stills rendered into a folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

from . import bridge, files, hung, pieces, stage, standing, stills, turntable
from .commands import told
from .wrapping import wrapped


class _NeedsParts:
    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not bridge.part_objects(pieces.current(context.scene)):
            cls.poll_message_set("Make the relief first")
            return False
        return True


def _tell(piece: str, words: str) -> None:
    """Have the panel say what came of rendering: the command is over long before."""
    found = pieces.named(piece)
    if found is not None:
        found.reliefsmith.rendered = words


def _set_up(context: bpy.types.Context) -> list[str]:
    """Stand light and camera round the piece; returns in words what changed in the scene."""
    scene = context.scene
    said = stage.show_true_colors(scene, list(stage.views(context.window_manager)))
    piece = pieces.current(scene)
    around = [item for item in hung.shown(piece) if not item.hide_render]
    seen = [*bridge.part_objects(piece).values(), *around]
    context.view_layer.update()
    turntable.set_up(scene, seen, standing.frame(piece))
    return said


class RELIEFSMITH_OT_true_colors(_NeedsParts, bpy.types.Operator):
    """Set light, world and view so that a top shows its filament's color; says what changed"""

    bl_idname = "reliefsmith.true_colors"
    bl_label = "Show True Colors"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        said = stage.show_true_colors(context.scene, list(stage.views(context.window_manager)))
        self.report({"INFO"}, "; ".join(said) or "Colors are shown as they are already")
        return {"FINISHED"}


class RELIEFSMITH_OT_turntable(_NeedsParts, bpy.types.Operator):
    """Set up camera, lights and a full turn, with colors shown as they are"""

    bl_idname = "reliefsmith.turntable"
    bl_label = "Set Up Turntable"
    bl_options = {"REGISTER", "UNDO"}

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        self.report({"INFO"}, "; ".join(["Turntable set up", *_set_up(context)]))
        return {"FINISHED"}


class RELIEFSMITH_OT_render_proofs(_NeedsParts, bpy.types.Operator):
    """Render pictures of the piece into a folder; Esc ends it"""

    bl_idname = "reliefsmith.render_proofs"
    bl_label = "Render Proofs"
    directory: bpy.props.StringProperty(subtype="DIR_PATH")
    filter_folder: bpy.props.BoolProperty(default=True, options={"HIDDEN"})
    views: bpy.props.EnumProperty(
        name="Views",
        items=(
            ("turn", "One Turn", "Pictures from all round"),
            ("front", "Front", "One picture from straight above"),
            ("sides", "Each Side", "One picture each of front, left, right, edge and back"),
        ),
    )
    count: bpy.props.IntProperty(
        name="Pictures", description="Pictures of one turn", default=8, min=1, max=99
    )
    size: bpy.props.IntProperty(name="Size", description="Pixels a side", default=800, min=64, max=4096)
    engine: bpy.props.EnumProperty(name="Rendering", items=stills.ENGINES)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        folder = files.folder(self.directory)
        _set_up(context)
        poses = turntable.turns(self.count) if self.views == "turn" else turntable.STILLS
        poses = poses[:1] if self.views == "front" else poses
        stem = Path(context.scene.reliefsmith.picture).stem
        paths = [folder / f"{stem}-{pose.name}.png" for pose in poses]
        run = stills.Stills(context.scene.name, poses, paths, self.size, self.engine)
        name = pieces.current(context.scene).name
        stills.run(run, lambda words: _tell(name, words))
        self.report({"INFO"}, context.scene.reliefsmith.rendered)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}


def draw(layout: Any, context: bpy.types.Context) -> None:
    """How the piece is shown, and pictures of it."""
    state = context.scene.reliefsmith
    layout.prop(state, "finish")
    layout.prop(state, "show_layers")
    layout.prop(state, "show_through")
    layout.prop(state, "show_hardware")
    layout.prop(state, "show_accessories")
    layout.operator("reliefsmith.true_colors", icon="LIGHT_SUN")
    layout.operator("reliefsmith.turntable", icon="CON_CAMERASOLVER")
    layout.operator("reliefsmith.render_proofs", icon="RENDER_ANIMATION")
    if state.rendered:
        wrapped(layout, context, state.rendered, "INFO")
    layout.operator("reliefsmith.write_library", icon="ASSET_MANAGER")


classes = (RELIEFSMITH_OT_true_colors, RELIEFSMITH_OT_turntable, RELIEFSMITH_OT_render_proofs)
