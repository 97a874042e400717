# SPDX-License-Identifier: GPL-3.0-or-later
"""Filaments as materials of an asset library: one file that any scene can take them from."""

from __future__ import annotations

import uuid
from pathlib import Path
from typing import Any

import bpy
from bpy_extras.io_utils import ExportHelper

from reliefsmith.checks.matching import table
from reliefsmith.errors import OutputError
from reliefsmith.recipe.tables import FINISHES

from . import looks, materials, pieces, properties, shading
from .commands import told
from .shading import Look

_CATALOG = "Filaments"
_CATALOGS = "blender_assets.cats.txt"
_HEAD = "# This is an Asset Catalog Definition file for Blender.\n\nVERSION 1\n\n"


def filaments(state: Any) -> list[tuple[str, tuple[int, int, int], str]]:
    """Return name, color and finish of each: stock, table, and the colors of the piece in every finish."""
    stock = [(spool.name, _bytes(spool.color), spool.finish) for spool in state.filaments.stock]
    own = [(row.name, _bytes(row.color), finish) for row in state.parts for finish in FINISHES]
    return list(dict.fromkeys([*stock, *((item.name, item.color, item.finish) for item in table()), *own]))


def _bytes(rgb: Any) -> tuple[int, int, int]:
    red, green, blue = properties.bytes_of(properties.hex_of(rgb))
    return red, green, blue


def write(path: Path, state: Any) -> int:
    """Write the materials into a file, and beside it the catalogs that it lacks; returns how many.

    On a part they count as the artist's, so they stay and the part is written in their color.

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    made = [_asset(*one) for one in filaments(state)]
    try:
        bpy.data.libraries.write(str(path), set(made), fake_user=True, compress=True)
        _add_catalogs(path.parent / _CATALOGS)
    except (OSError, RuntimeError) as error:
        raise OutputError(f"cannot write {path}: {error}; choose another place") from error
    finally:
        bpy.data.batch_remove(made)
    return len(made)


def _asset(name: str, color: tuple[int, int, int], finish: str) -> bpy.types.Material:
    """Return a material of a filament, marked as an asset."""
    made = bpy.data.materials.new(f"{name.capitalize()}, {finish}")
    shading.build(made, materials.linear(color), Look(finish))
    made.asset_mark()
    made.asset_data.catalog_id = _catalog(finish)
    made.asset_data.description = looks.words(finish)
    for word in (name, finish):
        made.asset_data.tags.new(word, skip_if_exists=True)
    return made


def _catalog(finish: str) -> str:
    """Return the number of a finish's catalog: the same in every file."""
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"reliefsmith {_CATALOG}/{finish}"))


def _add_catalogs(path: Path) -> None:
    """Add our catalogs to the ones of a folder; what stands there stays."""
    text = path.read_text(encoding="utf-8") if path.exists() else _HEAD
    numbers = {finish: _catalog(finish) for finish in FINISHES}
    new = [
        f"{number}:{_CATALOG}/{finish.title()}:{_CATALOG}-{finish.title()}"
        for finish, number in numbers.items()
        if number not in text
    ]
    if new:
        path.write_text("\n".join([text.rstrip("\n"), *new, ""]), encoding="utf-8")


class RELIEFSMITH_OT_write_library(bpy.types.Operator, ExportHelper):
    """Write filaments and this piece's colors in every finish as materials of an asset library"""

    bl_idname = "reliefsmith.write_library"
    bl_label = "Write Material Library"
    filename_ext = ".blend"
    filter_glob: bpy.props.StringProperty(default="*.blend", options={"HIDDEN"})
    any_piece = True

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        path = Path(bpy.path.abspath(self.filepath))
        if bpy.data.filepath and path.resolve() == Path(bpy.data.filepath).resolve():
            raise OutputError("this is the file that is open; choose another one")
        count = write(path, pieces.state_of(context.scene))
        self.report({"INFO"}, f"{count} materials written; add the folder to Blender's asset libraries")
        return {"FINISHED"}


classes = (RELIEFSMITH_OT_write_library,)
