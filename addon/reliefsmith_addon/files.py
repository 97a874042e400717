# SPDX-License-Identifier: GPL-3.0-or-later
"""Commands that read and write files: the picture, the recipe, the print files."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy_extras.io_utils import ExportHelper, ImportHelper

from reliefsmith import Recipe
from reliefsmith.errors import ArtworkError, OutputError

from . import bridge, properties, session
from .commands import NeedsPicture, told

_PICTURES = ".png;.jpg;.jpeg;.webp;.tif;.tiff;.bmp;.gif;.svg"


class RELIEFSMITH_OT_load_picture(bpy.types.Operator, ImportHelper):
    """Choose the picture that the relief is made from"""

    bl_idname = "reliefsmith.load_picture"
    bl_label = "Load Picture"
    bl_options = {"REGISTER", "UNDO"}
    filter_glob: bpy.props.StringProperty(default=_PICTURES.replace(".", "*."), options={"HIDDEN"})

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        if not Path(self.filepath).is_file():
            raise ArtworkError(f"there is no picture {self.filepath}; choose another file")
        state = context.scene.reliefsmith
        state.picture = self.filepath
        state.image = bridge.image(bpy.path.abspath(self.filepath))
        if not context.scene.objects:
            bridge.use_millimeters(context.scene)
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


class RELIEFSMITH_OT_export(NeedsPicture, bpy.types.Operator):
    """Write the print files, the proof and the job sheet into a folder"""

    bl_idname = "reliefsmith.export"
    bl_label = "Write Print Files"
    directory: bpy.props.StringProperty(subtype="DIR_PATH")
    filter_folder: bpy.props.BoolProperty(default=True, options={"HIDDEN"})

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        relief = session.job(state.picture).relief(properties.to_recipe(state))
        report = relief.write(bpy.path.abspath(self.directory))
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

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        properties.from_recipe(context.scene.reliefsmith, Recipe.load(self.filepath))
        return {"FINISHED"}


class RELIEFSMITH_OT_save_recipe(bpy.types.Operator, ExportHelper):
    """Save every setting as a recipe file"""

    bl_idname = "reliefsmith.save_recipe"
    bl_label = "Save Recipe"
    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        text = properties.to_recipe(context.scene.reliefsmith).to_toml()
        try:
            Path(self.filepath).write_text(text, encoding="utf-8")
        except OSError as error:
            raise OutputError(
                f"cannot write {self.filepath}: {error.strerror}; choose another place"
            ) from error
        return {"FINISHED"}


classes = (
    RELIEFSMITH_OT_load_picture,
    RELIEFSMITH_FH_picture,
    RELIEFSMITH_OT_export,
    RELIEFSMITH_OT_load_recipe,
    RELIEFSMITH_OT_save_recipe,
)
