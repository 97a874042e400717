# SPDX-License-Identifier: GPL-3.0-or-later
"""How a piece is shown: the finish of each color, layer lines, what shows through; none of it is printed."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from reliefsmith.checks.through import seen_through
from reliefsmith.colorimetry.hiding import measured_stock
from reliefsmith.recipe.tables import FINISHES

from . import bridge, materials, pieces, properties
from .shading import THROUGH, Look

_LEAST_UP = 0.1  # a face that looks up less is a wall
AS_FILAMENT = "filament"
_WORDS = {
    "matte": "Without any shine",
    "satin": "A soft shine",
    "silk": "A bright shine in its own color",
    "gloss": "Mirrors lights sharply",
    "clear": "Light passes through it",
    "glow": "Glows in the dark",
    "wood": "Filled with wood, grained",
    "stone": "Filled with stone, speckled",
}
_FINISHES = [(name, properties.title(name), _WORDS[name]) for name in FINISHES]


def _changed(group: Any, _context: bpy.types.Context) -> None:
    piece = pieces.of(group)
    if piece is not None and piece.library is None:
        show(piece)


def _own_finish(row: Any) -> int:
    kept = pieces.of(row).reliefsmith.finishes.get(properties.hex_of(row.color))
    return 0 if kept is None else 1 + FINISHES.index(kept.finish)


def _set_own_finish(row: Any, number: int) -> None:
    kept, color = pieces.of(row).reliefsmith.finishes, properties.hex_of(row.color)
    index = kept.find(color)
    if number and index < 0:
        kept.add().name = color
    if number:
        kept[color].finish = FINISHES[number - 1]
    elif index >= 0:
        kept.remove(index)


class RELIEFSMITH_PG_finish(bpy.types.PropertyGroup):
    """The finish of one color; `name` is the color"""

    finish: bpy.props.StringProperty()


def words(finish: str) -> str:
    """Return what a finish is, in words."""
    return _WORDS[finish].lower()


def of_part() -> dict[str, Any]:
    """Return the properties of a part's row: its finish, which is kept by its color, and its filament's."""
    items = [(AS_FILAMENT, "As Filament", "As the filament that it is matched to, or as the whole piece")]
    return {
        "filament_finish": bpy.props.StringProperty(),
        "finish": bpy.props.EnumProperty(
            name="Finish",
            description="How this color shines",
            items=[*items, *_FINISHES],
            get=_own_finish,
            set=_set_own_finish,
            update=_changed,
        ),
    }


def of_piece() -> dict[str, Any]:
    """Return the properties of a piece that say how it is shown."""
    items = [(AS_FILAMENT, "As Filaments", "Each color as the filament that it is matched to")]
    return {
        "finishes": bpy.props.CollectionProperty(type=RELIEFSMITH_PG_finish),
        "finish": bpy.props.EnumProperty(
            name="Finish", description="How the piece shines", items=[*items, *_FINISHES], update=_changed
        ),
        "show_layers": bpy.props.BoolProperty(
            name="Layer Lines", description="Show the edges of the printed layers", update=_changed
        ),
        "show_through": bpy.props.BoolProperty(
            name="Show Through",
            description="Show what lies below where it shows through thin light layers",
            update=properties.touched,
        ),
        "show_hardware": bpy.props.BoolProperty(
            name="Ring or Pin", description="Show the piece on what it hangs on", update=properties.touched
        ),
        "show_accessories": bpy.props.BoolProperty(
            name="Foot, Handle, Housing",
            description="Show beside the piece what goes with it and is printed by itself",
            default=True,
            update=properties.touched,
        ),
        "seam_mm": bpy.props.FloatProperty(options={"HIDDEN"}),
    }


def look(state: Any, row: Any) -> Look:
    """Return how a part is shown, from its row."""
    kept = state.finishes.get(properties.hex_of(row.color))
    finish = kept.finish if kept is not None else state.finish
    if finish == AS_FILAMENT:
        finish = row.filament_finish or materials.PLAIN
    height = properties.rounded(state.heights.layer_mm) if state.show_layers else 0.0
    seam = properties.rounded(state.seam_mm) if height else 0.0
    return Look(finish, height, seam, through=state.show_through)


def lay_through(piece: bpy.types.Collection, relief: Any) -> None:
    """Write into each part of a piece what shows through its tops, by the core's values for its filament.

    It is the difference to the part's own color, scene linear: where it is missing, that is shown.
    """
    measured = measured_stock(relief.result.recipe.filaments.stock)
    for name, item in bridge.part_objects(piece).items():
        mesh = item.data
        values = np.empty((2, 3 * len(mesh.polygons)), np.float32)
        mesh.polygons.foreach_get("center", values[0])
        mesh.polygons.foreach_get("normal", values[1])
        centers, normals = (row.reshape(-1, 3).astype(np.float64) for row in values)
        is_top = normals[:, 2] > _LEAST_UP
        slabs = relief.stack.slabs if piece.reliefsmith.as_printed else relief.stack.seen
        own = materials.linear(next(slab.color for slab in slabs if slab.part == name))
        added = np.zeros((len(mesh.polygons), 3), np.float32)
        added[is_top] = seen_through(slabs, name, centers[is_top], measured) - own
        bridge.lay(mesh, THROUGH, "FLOAT_VECTOR", "FACE", added)
        mesh.update()


def of(state: Any) -> dict[str, Look]:
    """Return how each part is shown, by its name."""
    return {row.name: look(state, row) for row in state.parts}


def show(piece: bpy.types.Collection) -> None:
    """Show the parts of a piece as its state says, where the artist gave them no materials."""
    state, objects = piece.reliefsmith, bridge.part_objects(piece)
    printed = {row.part: row.color for row in state.filaments.parts}
    for row in state.parts:
        if row.name in objects:
            color = tuple(properties.bytes_of(properties.hex_of(printed.get(row.name, row.color))))
            materials.paint(objects[row.name], color, look(state, row))
