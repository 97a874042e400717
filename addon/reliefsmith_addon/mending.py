# SPDX-License-Identifier: GPL-3.0-or-later
"""A safe repair of meshes that are no closed solids: only when asked for, and what was done is said."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from reliefsmith.checks.saferepair import repaired
from reliefsmith.errors import RecipeError
from reliefsmith.findings import Finding, finding
from reliefsmith.model import Part

from . import bridge, hand, pieces, showing, standing
from .commands import told


def mend(item: bpy.types.Object) -> tuple[Finding, ...]:
    """Mend the mesh of an object where that is safe; returns what was done, nothing for a closed one.

    Raises
    ------
    RecipeError
        If it is being edited, or belongs to another file.
    """
    hand.refuse_foreign(item)
    hand.refuse_foreign(item.data)
    if item.mode != "OBJECT":
        raise RecipeError(f"{item.name} is being edited; leave its mode first")
    vertices, triangles = bridge.read(item.data)
    part = Part(item.name, "motif", (0, 0, 0), vertices.astype(np.float64), triangles)
    (now,), said = repaired([part], is_asked=True)
    if now is part:
        return said
    if hand.has_shapes(item):
        words = f"{item.name} was not repaired: it has shape keys or levels; apply them first."
        return (finding("repair-offered", words),)
    if hand.has_layers(item):
        words = f"UVs, vertex groups and masks of {item.name} were of its old faces and are gone."
        said = (*said, finding("repaired", words))
    bridge.fill(item.data, now.vertices, now.triangles)
    return said


class RELIEFSMITH_OT_mend(bpy.types.Operator):
    """Merge equal points, turn faces outward and fill tiny holes, of meshes that are not closed only"""

    bl_idname = "reliefsmith.mend"
    bl_label = "Mend Open Meshes"
    bl_options = {"REGISTER", "UNDO"}
    selected: standing.selection_only()

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        piece = pieces.current(context.scene)
        objects = standing.meshes(piece, context.view_layer, selected=self.selected)
        said: Any = [line for item in objects for line in mend(item)]
        if not said:
            self.report({"INFO"}, f"all {len(objects)} meshes are closed; nothing was changed")
            return {"CANCELLED"}
        showing.keep_findings(context.scene.reliefsmith, said)
        self.report({"INFO"}, " ".join(line.message for line in said))
        return {"FINISHED"}


classes = (RELIEFSMITH_OT_mend,)
