# SPDX-License-Identifier: GPL-3.0-or-later
"""Commands that read and write files: the picture, the recipe, the print files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
from bpy_extras.io_utils import ExportHelper, ImportHelper

from reliefsmith import Recipe
from reliefsmith.colorimetry.words import to_hex
from reliefsmith.errors import ArtworkError, OutputError, RecipeError
from reliefsmith.findings import count_words
from reliefsmith.progress import drain
from reliefsmith.recipe.presets import preset_forms, with_preset
from reliefsmith.walk.inputs import PICTURES
from reliefsmith.walk.output import write_parts_steps

from . import (
    bridge,
    checking,
    materials,
    pictures,
    pieces,
    properties,
    sculpting,
    session,
    showing,
    slices,
    standing,
)
from .commands import NeedsPicture, told
from .labels import title

_PICTURES = ";".join(end for end in PICTURES if not end.startswith(".hei"))  # the zip reads no HEIF
_PRESETS = [(name, title(name), form.about) for name, form in preset_forms().items()]


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
        pieces.begin(context.scene).reliefsmith.picture = self.filepath
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


def with_colors(recipe: Recipe, own: dict[str, str]) -> Recipe:
    """Return a recipe whose parts are printed in the colors that the artist gave them, by their names."""
    rows = [row for row in recipe.filaments.parts if row.part not in own]
    mine = [{"part": name, "color": color} for name, color in own.items()]
    return recipe.with_values({"filaments.parts": [*rows, *mine]})


def folder(given: str) -> Path:
    """Return the folder that files go into.

    Raises
    ------
    OutputError
        If none is given.
    """
    if not given:
        raise OutputError("no folder is given for the files; choose one")
    return Path(bpy.path.abspath(given))


class RELIEFSMITH_OT_export(NeedsPicture, slices.SlicedIntoFolder, bpy.types.Operator):
    """Write the print files, the proof and the job sheet into a folder"""

    bl_idname = "reliefsmith.export"
    bl_label = "Write Print Files"

    def begin(self, context: Any) -> Any:
        folder(self.directory)
        piece = pieces.current(context.scene)
        job = session.job(context.scene.reliefsmith, sculpting.stored(piece))
        own = {name: materials.own_color(item) for name, item in bridge.part_objects(piece).items()}
        self._own = {name: to_hex(color) for name, color in own.items() if color is not None}
        recipe = with_colors(properties.to_recipe(context.scene.reliefsmith), self._own)
        return self._steps(job, recipe)

    def _steps(self, job: Any, recipe: Recipe) -> Any:
        self._relief = yield from job.relief_steps(recipe)
        return (yield from self._relief.write_steps(folder(self.directory)))

    def end(self, context: Any, report: Any) -> set[str]:
        state, piece = context.scene.reliefsmith, pieces.current(context.scene)
        said = ", ".join(f"{name} {color}" for name, color in self._own.items())
        words = f"{count_words(len(report['files']), 'file')} written"
        self.report({"INFO"}, f"{words}; in the colors of your materials: {said}" if said else words)
        made = drain(showing.shown_steps(state, self._relief.stack, self._relief.parts))
        changed = [] if state.cut else standing.changed(piece, context.view_layer, made)
        if changed:
            words = f"the files hold what the settings make; by hand you changed {', '.join(changed)}"
            self.report({"WARNING"}, f"{words}: Write Scene writes that")
        return {"FINISHED"}


class RELIEFSMITH_OT_export_scene(slices.SlicedIntoFolder, bpy.types.Operator):
    """Check the whole piece as it stands, hidden or changed by hand or not, and write it as 3MF and STL"""

    bl_idname = "reliefsmith.export_scene"
    bl_label = "Write Scene"
    selected: standing.selection_only()

    def begin(self, context: Any) -> Any:
        state = context.scene.reliefsmith
        if state.cut:
            raise RecipeError("the piece is cut open to look inside; turn Look Inside off first")
        recipe = properties.to_recipe(state)
        about = {"stem": f"{Path(state.picture).stem or 'relief'}-finish", "recipe": recipe}
        about["picture"] = pictures.path(state) if state.picture else None
        folder(self.directory)
        return self._steps(context.scene, context.view_layer, about)

    def _steps(self, scene: bpy.types.Scene, layer: bpy.types.ViewLayer, about: dict[str, Any]) -> Any:
        parts, found = yield from checking.check_steps(scene, layer, selected=self.selected)
        checking.keep_check(scene, parts, found, selected=self.selected)  # they stay if it is not written
        report = yield from write_parts_steps(parts, folder(self.directory), found=found, **about)
        return report, found

    def end(self, _context: Any, value: Any) -> set[str]:
        report, found = value
        only = " of the selection only" if self.selected else ""
        self.report({"INFO"}, f"{count_words(len(report['files']), 'file')} written{only}")
        if any(item.severity == "stop" for item in found):
            self.report({"WARNING"}, "a finding says not to print this; see Findings")
        return {"FINISHED"}


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


class RELIEFSMITH_OT_use_preset(bpy.types.Operator):
    """Make the piece what a preset says; picture, colors, printer and order stay"""

    bl_idname = "reliefsmith.use_preset"
    bl_label = "Use Preset"
    bl_options = {"REGISTER", "UNDO"}
    preset: bpy.props.EnumProperty(name="Preset", description="What the piece is to be", items=_PRESETS)

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        state = context.scene.reliefsmith
        properties.from_recipe(state, with_preset(properties.to_recipe(state), self.preset))
        return {"FINISHED"}


class RELIEFSMITH_OT_save_recipe(bpy.types.Operator, ExportHelper):
    """Save every setting as a recipe file"""

    bl_idname = "reliefsmith.save_recipe"
    bl_label = "Save Recipe"
    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        text = session.with_paths(properties.to_recipe(context.scene.reliefsmith)).to_toml()
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
    RELIEFSMITH_OT_export_scene,
    RELIEFSMITH_OT_load_recipe,
    RELIEFSMITH_OT_use_preset,
    RELIEFSMITH_OT_save_recipe,
)
