# SPDX-License-Identifier: GPL-3.0-or-later
"""The add-on's commands: each reads the properties, calls one function of the core and shows the result."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import bpy
from bpy_extras.io_utils import ExportHelper, ImportHelper

from reliefsmith import Recipe
from reliefsmith.errors import ReliefsmithError
from reliefsmith.progress import drain

from . import bridge, live, properties, run, session

_PICTURES = ".png;.jpg;.jpeg;.webp;.tif;.tiff;.bmp;.gif;.svg"
_TICK_S = 0.01
_CLOSE_MM = 30.0  # distance from which a finding is looked at


class RELIEFSMITH_OT_load_picture(bpy.types.Operator, ImportHelper):
    """Choose the picture that the relief is made from"""

    bl_idname = "reliefsmith.load_picture"
    bl_label = "Load Picture"
    bl_options = {"REGISTER", "UNDO"}
    filter_glob: bpy.props.StringProperty(default=_PICTURES.replace(".", "*."), options={"HIDDEN"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        if not Path(self.filepath).is_file():
            self.report({"ERROR"}, f"there is no picture {self.filepath}; choose another file")
            return {"CANCELLED"}
        context.scene.reliefsmith.picture = self.filepath
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        return self.execute(context) if self.filepath else ImportHelper.invoke(self, context, event)


class RELIEFSMITH_FH_picture(bpy.types.FileHandler):
    """Pictures dropped into the 3D view are loaded"""

    bl_idname = "RELIEFSMITH_FH_picture"
    bl_label = "Relief from Picture"
    bl_import_operator = RELIEFSMITH_OT_load_picture.bl_idname
    bl_file_extensions = _PICTURES

    @classmethod
    def poll_drop(cls, context: bpy.types.Context) -> bool:
        return context.area is not None and context.area.type == "VIEW_3D"


class RELIEFSMITH_OT_make(bpy.types.Operator):
    """Make the relief from the picture and bring its parts into the scene"""

    bl_idname = "reliefsmith.make"
    bl_label = "Make Relief"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not context.scene.reliefsmith.picture:
            cls.poll_message_set("Load a picture first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        run.pending.stop()
        try:
            relief = drain(run.steps(context.scene))
        except ReliefsmithError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return self._finish(context, relief)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if bpy.app.background or context.window is None:
            return self.execute(context)
        run.pending.stop()
        try:
            self._running = run.steps(context.scene)
        except ReliefsmithError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self._timer = context.window_manager.event_timer_add(_TICK_S, window=context.window)
        context.window_manager.progress_begin(0, 1)
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type == "ESC":
            self.cancel(context)
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"}
        try:
            self._advance(context)
        except StopIteration as stop:
            self._leave(context)
            return self._finish(context, stop.value)
        except ReliefsmithError as error:
            self._leave(context)
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        except Exception:
            self._leave(context)  # a fault of ours must not leave the timer running
            raise
        return {"RUNNING_MODAL"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Stop the run; Blender calls it too, when the window closes."""
        self._running.close()
        self._leave(context)

    def _advance(self, context: bpy.types.Context) -> None:
        """Take steps until the slice of time is used up."""
        begin = time.perf_counter()
        while time.perf_counter() - begin < live.SLICE_S:
            step = next(self._running)
            context.window_manager.progress_update(step.fraction)
            context.workspace.status_text_set(f"{step.message}  (Esc cancels)")

    def _leave(self, context: bpy.types.Context) -> None:
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    def _finish(self, context: bpy.types.Context, relief: Any) -> set[str]:
        run.show(context.scene, relief)
        self.report({"INFO"}, f"{len(relief.parts)} parts, {len(relief.findings)} findings")
        return {"FINISHED"}


class RELIEFSMITH_OT_export(bpy.types.Operator):
    """Write the print files, the proof and the job sheet into a folder"""

    bl_idname = "reliefsmith.export"
    bl_label = "Write Print Files"
    directory: bpy.props.StringProperty(subtype="DIR_PATH")
    filter_folder: bpy.props.BoolProperty(default=True, options={"HIDDEN"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return RELIEFSMITH_OT_make.poll.__func__(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        try:
            relief = session.job(state.picture).relief(properties.to_recipe(state))
            report = relief.write(bpy.path.abspath(self.directory))
        except ReliefsmithError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self.report({"INFO"}, f"{len(report['files'])} files written")
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}


class RELIEFSMITH_OT_load_recipe(bpy.types.Operator, ImportHelper):
    """Set every setting from a recipe file"""

    bl_idname = "reliefsmith.load_recipe"
    bl_label = "Load Recipe"
    bl_options = {"REGISTER", "UNDO"}
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        try:
            properties.from_recipe(context.scene.reliefsmith, Recipe.load(self.filepath))
        except ReliefsmithError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return {"FINISHED"}


class RELIEFSMITH_OT_save_recipe(bpy.types.Operator, ExportHelper):
    """Save every setting as a recipe file"""

    bl_idname = "reliefsmith.save_recipe"
    bl_label = "Save Recipe"
    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        try:
            text = properties.to_recipe(context.scene.reliefsmith).to_toml()
            Path(self.filepath).write_text(text, encoding="utf-8")
        except (ReliefsmithError, OSError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return {"FINISHED"}


class RELIEFSMITH_OT_use_millimeters(bpy.types.Operator):
    """Make one unit of this scene one millimeter, as the parts are"""

    bl_idname = "reliefsmith.use_millimeters"
    bl_label = "Use Millimeters"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[str]:
        bridge.use_millimeters(context.scene)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if context.scene.objects:
            return context.window_manager.invoke_confirm(self, event)
        return self.execute(context)


class RELIEFSMITH_OT_show_finding(bpy.types.Operator):
    """Put the 3D cursor on the place of a finding and turn the view there"""

    bl_idname = "reliefsmith.show_finding"
    bl_label = "Show Finding"
    bl_options = {"REGISTER", "UNDO"}
    index: bpy.props.IntProperty(name="Finding", min=0)

    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        if self.index >= len(state.findings) or not state.findings[self.index].has_place:
            self.report({"ERROR"}, "this finding has no place; choose another one")
            return {"CANCELLED"}
        state.finding = self.index
        context.scene.cursor.location = state.findings[self.index].place
        if context.space_data is not None and context.space_data.type == "VIEW_3D":
            context.space_data.region_3d.view_location = state.findings[self.index].place
            context.space_data.region_3d.view_distance = _CLOSE_MM
        return {"FINISHED"}


class RELIEFSMITH_OT_use_color(bpy.types.Operator):
    """Give a color of the picture another role"""

    bl_idname = "reliefsmith.use_color"
    bl_label = "Use Color"
    bl_options = {"REGISTER", "UNDO"}
    part: bpy.props.StringProperty(name="Part", description="Name of the part whose color it is")
    role: bpy.props.EnumProperty(
        name="Role",
        items=[
            ("base", "Base", "Make the base in this color"),
            ("omit", "Leave Out", "Leave the areas of this color out"),
        ],
    )

    @classmethod
    def description(cls, _context: bpy.types.Context, given: Any) -> str:
        words = {"base": "Make the base in this color", "omit": "Leave the areas of this color out"}
        return words[given.role]

    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        if self.part not in state.parts:
            self.report({"ERROR"}, f"there is no part {self.part!r}; make the relief first")
            return {"CANCELLED"}
        recipe, color = properties.to_recipe(state), properties.hex_of(state.parts[self.part].color)
        if self.role == "base":
            recipe = recipe.with_values({"colors.base": color})
        else:
            recipe = recipe.with_values({"colors.omit": [*recipe.colors.omit, color]})
        properties.from_recipe(state, recipe)
        return {"FINISHED"}


_classes = (
    RELIEFSMITH_OT_load_picture,
    RELIEFSMITH_FH_picture,
    RELIEFSMITH_OT_make,
    RELIEFSMITH_OT_export,
    RELIEFSMITH_OT_load_recipe,
    RELIEFSMITH_OT_save_recipe,
    RELIEFSMITH_OT_use_millimeters,
    RELIEFSMITH_OT_show_finding,
    RELIEFSMITH_OT_use_color,
)


def register() -> None:
    """Register the operators."""
    for item in _classes:
        bpy.utils.register_class(item)


def unregister() -> None:
    """Take the operators away and let go of what they kept."""
    run.pending.stop()
    for item in reversed(_classes):
        bpy.utils.unregister_class(item)
    session.forget()
