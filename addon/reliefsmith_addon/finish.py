# SPDX-License-Identifier: GPL-3.0-or-later
"""What stands in `Finish` in place of a part: from which settings it was made, and whether those are gone."""

from __future__ import annotations

import functools
import tomllib
from typing import Any

import bpy

from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.mesh import follow

from . import bridge, hand, pieces
from .commands import told

_KEPT = "reliefsmith_kept"  # with which part it was said to stay as it is
_MOST_SAID = 3


def copies(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return the meshes in `Finish` that stand for a part."""
    place = pieces.find(piece, pieces.FINISH)
    return (
        [item for item in place.all_objects if item.type == "MESH" and bridge.PART in item] if place else []
    )


def later(piece: bpy.types.Collection | None, item: bpy.types.Object) -> bpy.types.Object | None:
    """Return what was set aside of the same part after a copy that was set aside, and stands for it, or None.

    Two solids in one place would both be printed. A copy that the artist put there counts in any case.
    """
    if hand.ASIDE not in item:
        return None
    aside = [one for one in copies(piece) if hand.ASIDE in one and one[bridge.PART] == item[bridge.PART]]
    last = max(aside, key=lambda one: int(one[hand.ASIDE]))
    return last if int(last[hand.ASIDE]) > int(item[hand.ASIDE]) else None


def is_stale(piece: bpy.types.Collection, item: bpy.types.Object) -> bool:
    """Return whether a copy was made from a part that is not what the settings make now."""
    part = bridge.part_objects(piece).get(item[bridge.PART])
    made = part.data.get(hand.STAMP) if part is not None else None
    return made is not None and made not in (item.data.get(hand.STAMP), item.get(_KEPT))


def since(piece: bpy.types.Collection, item: bpy.types.Object) -> str:
    """Return which settings have changed since a copy was made."""
    part = bridge.part_objects(piece)[item[bridge.PART]]
    return _changes(item.data.get(hand.SETTINGS, ""), part.data.get(hand.SETTINGS, ""))


@functools.lru_cache(maxsize=64)
def _changes(before: str, after: str) -> str:
    """Return the settings in which two recipes differ, such as "heights.base_mm 2.0, now 3.6"."""
    if not before or not after:
        return "settings that are not known"
    old, new = (_flat(tomllib.loads(text)) for text in (before, after))
    keys = sorted(key for key in old.keys() | new.keys() if old.get(key) != new.get(key))
    said = [f"{key} {_word(old.get(key))}, now {_word(new.get(key))}" for key in keys[:_MOST_SAID]]
    more = len(keys) - len(said)
    return "; ".join([*said, *([f"{more} more"] if more else [])]) or "another picture"


def _flat(table: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            found |= {f"{key}.{inner}": one for inner, one in value.items()}
        else:
            found[key] = value
    return found


def _word(value: Any) -> str:
    if value is None:
        return "not set"
    return f"{len(value)} entries" if isinstance(value, list) else str(value)


def keep(piece: bpy.types.Collection, item: bpy.types.Object) -> None:
    """Have a copy stand as it is for the part as it is made now."""
    item[_KEPT] = bridge.part_objects(piece)[item[bridge.PART]].data[hand.STAMP]


def bring_along(piece: bpy.types.Collection, item: bpy.types.Object) -> None:
    """Move a copy up or down with the heights of its part; what was made by hand keeps its own height.

    Raises
    ------
    GeometryError
        If the part has another outline or other levels now.
    RecipeError
        If shape keys or levels lie on the copy, or it belongs to another file.
    """
    mesh, part = item.data, bridge.part_objects(piece)[item[bridge.PART]].data
    hand.refuse_foreign(mesh)
    if item.mode != "OBJECT" or hand.has_shapes(item):
        raise RecipeError(
            f"{item.name} is being edited, or has shape keys or levels; leave or apply them first"
        )
    before, after = (list(one.get(hand.LEVELS, ())) for one in (mesh, part))
    if not before or len(before) != len(after) or mesh.get(hand.GROUND) != part.get(hand.GROUND):
        raise GeometryError(
            f"{item[bridge.PART]} has another outline now, not only other heights; "
            f"keep {item.name} as it is, or sculpt the new part"
        )
    bridge.place(mesh, follow(bridge.read(mesh)[0], before, after))
    for key in hand.MADE:
        if key in part:
            mesh[key] = part[key]


def _named(context: bpy.types.Context, name: str) -> tuple[bpy.types.Collection, bpy.types.Object]:
    """Return the piece that is meant, and its copy of this name whose part is there.

    Raises
    ------
    RecipeError
        If there is none.
    """
    piece = pieces.current(context.scene)
    item = next((one for one in copies(piece) if one.name == name), None)
    if item is None or item[bridge.PART] not in bridge.part_objects(piece):
        raise RecipeError(f"{name!r} is no copy of a part in Finish; name one of those")
    return piece, item


class RELIEFSMITH_OT_keep_copy(bpy.types.Operator):
    """Keep this copy as it is, for the part as it is made now"""

    bl_idname = "reliefsmith.keep_copy"
    bl_label = "Keep As It Is"
    bl_options = {"REGISTER", "UNDO"}
    item: bpy.props.StringProperty(name="Copy", description="Name of the object in Finish")

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        keep(*_named(context, self.item))
        return {"FINISHED"}


class RELIEFSMITH_OT_bring_along(bpy.types.Operator):
    """Bring this copy along to the new heights of its part; relief keeps its own height"""

    bl_idname = "reliefsmith.bring_along"
    bl_label = "Bring Along"
    bl_options = {"REGISTER", "UNDO"}
    item: bpy.props.StringProperty(name="Copy", description="Name of the object in Finish")

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        bring_along(*_named(context, self.item))
        return {"FINISHED"}


classes = (RELIEFSMITH_OT_keep_copy, RELIEFSMITH_OT_bring_along)
