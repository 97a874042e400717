"""Runs inside a windowed Blender: stands in for what an old one lacks, turns the add-on on, takes orders.

An order is a Python file `order.py` in the folder given after `--`; its answer is `answer.json`.
"""

from __future__ import annotations

import json
import os
import sys
import traceback
from pathlib import Path
from typing import Any

import bpy

ROOT = Path(__file__).parents[3]
OUT = Path(sys.argv[sys.argv.index("--") + 1])
TICK_S = 0.05

bpy.context.preferences.view.show_splash = False  # here: in a timer it is too late


def stand_ins() -> None:
    """Give an old Blender the names that the add-on uses; the product itself has no branches for it."""
    sys.path[:0] = [str(ROOT / "addon"), str(ROOT / "core"), str(ROOT / "shared")]
    # A distribution's Blender links a geometry library of its own; without this the wheel's calls land there.
    # That library only: others would give memory back to another allocator than they got it from.
    import numpy as np  # noqa: F401

    usual = sys.getdlopenflags()
    sys.setdlopenflags(os.RTLD_NOW | os.RTLD_DEEPBIND)
    import shapely  # noqa: F401

    sys.setdlopenflags(usual)

    if not hasattr(bpy.types, "FileHandler"):
        bpy.types.FileHandler = type("FileHandler", (bpy.types.Operator,), {"bl_label": "File Handler"})
        register = bpy.utils.register_class
        unregister = bpy.utils.unregister_class
        is_handler = lambda item: issubclass(item, bpy.types.FileHandler)  # noqa: E731
        bpy.utils.register_class = lambda item: None if is_handler(item) else register(item)
        bpy.utils.unregister_class = lambda item: None if is_handler(item) else unregister(item)
    strings = bpy.props.StringProperty
    known = {"HIDDEN", "SKIP_SAVE"}
    bpy.props.StringProperty = lambda **about: strings(
        **{**about, "options": about.get("options", set()) & known} if "options" in about else about
    )
    import reliefsmith_addon

    reliefsmith_addon.health.trouble = lambda: None
    reliefsmith_addon.register()
    if bpy.app.version < (4, 0):  # the shader has other inputs
        reliefsmith_addon.materials.shading.build = build_plain
    if bpy.app.version < (3, 6):  # meshes kept the number of corners of every face
        from reliefsmith_addon import bridge

        bridge.fill, bridge._positions = fill_with_totals, positions_by_vertices
        bridge._corners, bridge.shade = corners_by_loops, lambda _mesh: None  # flat by itself


def build_plain(material: bpy.types.Material, rgb: tuple[float, float, float], _look: Any) -> None:
    """Do the part of the add-on's `build` that old shaders know."""
    material.use_nodes = True
    material.diffuse_color = (*rgb, 1.0)
    shader = next(node for node in material.node_tree.nodes if node.type == "BSDF_PRINCIPLED")
    shader.inputs["Base Color"].default_value = (*rgb, 1.0)


def fill_with_totals(mesh: bpy.types.Mesh, vertices: Any, triangles: Any) -> None:
    """Do what the add-on's `fill` does, in the terms of old meshes."""
    mesh.clear_geometry()
    mesh.vertices.add(len(vertices))
    mesh.vertices.foreach_set("co", vertices.ravel())
    mesh.loops.add(triangles.size)
    mesh.loops.foreach_set("vertex_index", triangles.ravel())
    mesh.polygons.add(len(triangles))
    mesh.polygons.foreach_set("loop_start", range(0, triangles.size, 3))
    mesh.polygons.foreach_set("loop_total", [3] * len(triangles))
    mesh.update(calc_edges=True)


def positions_by_vertices(mesh: bpy.types.Mesh) -> Any:
    """Do what the add-on's `_positions` does, where positions are no attribute yet."""
    import numpy as np

    found = np.empty(3 * len(mesh.vertices), np.float32)
    mesh.vertices.foreach_get("co", found)
    return found


def corners_by_loops(mesh: bpy.types.Mesh) -> Any:
    """Do what the add-on's `_corners` does, where corners are no attribute yet."""
    import numpy as np

    found = np.empty(len(mesh.loops), np.int32)
    mesh.loops.foreach_get("vertex_index", found)
    return found


def view() -> tuple:
    """Return window, area, space and the regions of the 3D view by type."""
    window = bpy.context.window_manager.windows[0]
    area = next(item for item in window.screen.areas if item.type == "VIEW_3D")
    return window, area, area.spaces.active, {item.type: item for item in area.regions}


def orders() -> float:
    """Carry out an order that waits, in the window's context."""
    order = OUT / "order.py"
    if order.exists():
        text = order.read_text()
        order.unlink()
        window, area, space, regions = view()
        names = {"bpy": bpy, "area": area, "space": space, "regions": regions, "window": window, "OUT": OUT}
        names |= {"show_only": show_only, "show_all": show_all}
        names |= {"state": bpy.context.scene.reliefsmith, "scene": bpy.context.scene}
        try:
            with bpy.context.temp_override(
                window=window, screen=window.screen, area=area, region=regions["WINDOW"]
            ):
                exec(compile(text, "order", "exec"), names)
            answer = {"value": names.get("value")}
        except Exception:  # noqa: BLE001 - the answer carries it to the test
            answer = {"error": traceback.format_exc()}
        (OUT / "answer.tmp").write_text(json.dumps(answer))
        (OUT / "answer.tmp").rename(OUT / "answer.json")
    return TICK_S


def begin() -> None:
    """Put the window in order: no default objects, sidebar wide, the other tabs away."""
    for item in list(bpy.data.objects):
        bpy.data.objects.remove(item)
    _, area, space, _ = view()
    space.show_region_ui = True
    space.shading.type, space.shading.color_type = "SOLID", "OBJECT"
    space.clip_start, space.clip_end = 1, 5000
    for kind in list(bpy.types.Panel.__subclasses__()):
        is_side = (
            getattr(kind, "bl_space_type", "") == "VIEW_3D" and getattr(kind, "bl_region_type", "") == "UI"
        )
        if is_side and kind.is_registered and getattr(kind, "bl_category", "Relief") != "Relief":
            bpy.utils.unregister_class(kind)
    area.tag_redraw()


def show_only(*titles: str) -> None:
    """Leave only the panels of these titles, open, with the panels that stand in them."""
    from reliefsmith_addon import panels

    panels.unregister()
    kept = [panels.RELIEFSMITH_PT_relief] if "Relief" in titles else []
    rows = [row for row in panels._PANELS if row[0] in titles or row[1] in titles]
    kept += [panels._panel_class((*row[:5], True)) for row in rows]
    for kind in kept[1:] if "Relief" in titles else kept:  # Blender remembers by name what was closed
        kind.bl_idname += "_open"
        if hasattr(kind, "bl_parent_id"):
            kind.bl_parent_id += "_open"
    panels._classes.extend(kept)
    for kind in kept:
        bpy.utils.register_class(kind)


def show_all() -> None:
    """Bring all panels back as they are at first."""
    from reliefsmith_addon import panels

    panels.unregister()
    panels.register()


stand_ins()
begin()
bpy.app.timers.register(orders, first_interval=0.5, persistent=True)
