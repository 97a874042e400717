# SPDX-License-Identifier: GPL-3.0-or-later
"""The finished piece on what it hangs on: ring, chain, cord, strap, screw, magnet, pin. Never printed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import bmesh
import bpy
from mathutils import Matrix

from reliefsmith.documents.hardware import CORD, METAL, RINGS, WEB, bail_mm, hardware_of, path_of

from . import materials, pieces, stage

_NAME = "hardware"
_TURN = math.radians(15)  # a ring in a hole is turned this far from straight through it, so that it is seen
_BEAD = 1.35  # from ball to ball of a chain, in balls
_SHANK_MM = 14.0
_NEEDLE_MM = 0.5
_NEEDLE_Z_MM = -2.2
_GAP_MM = 0.1  # between a strap and the piece

Place = tuple[float, float, float]


def show(piece: bpy.types.Collection, relief: Any) -> None:
    """Show what a piece hangs on, or take it away, as its state says."""
    for item in shown(piece):
        data = item.data
        bpy.data.objects.remove(item)
        (bpy.data.curves if isinstance(data, bpy.types.Curve) else bpy.data.meshes).remove(data)
    state, hardware = piece.reliefsmith, hardware_of(relief.result)
    if hardware is None or not state.show_hardware or state.cut or state.as_printed:
        return
    plan = relief.plan
    top = max(slab.highest_mm for slab in relief.stack.seen if slab.role == "base")
    rests = [hole.rest_mm for hole in plan.holes]
    if hardware.use == "loop" and len(rests) > 1 and hardware.kind not in RINGS:
        _bail(piece, hardware, rests, top)
    for hole in plan.holes:
        if hardware.use == "slot":
            _strap(piece, hardware, hole.rest_mm, top)
        elif hardware.use == "screw":
            _screw(piece, hardware, hole.center_mm, top)
        elif len(rests) == 1 or hardware.kind in RINGS:
            _loop(piece, hardware, hole, top)
    for pocket in plan.pockets:
        if pocket.kind in ("magnet", "pin"):
            _fixture(piece, hardware, pocket)


def shown(piece: bpy.types.Collection | None) -> list[bpy.types.Object]:
    """Return the objects that a piece hangs on."""
    place = pieces.find(piece, pieces.STAGE)
    return [item for item in place.objects if item.get(stage.NAME) == _NAME] if place else []


def _loop(piece: bpy.types.Collection, hardware: Any, hole: Any, top: float) -> None:
    """A ring or loop through a hole; the turns of a split ring lie side by side."""
    across = (math.cos(_TURN), -math.sin(_TURN))
    turns = hardware.turns if hardware.kind == "split-ring" else 1
    # Wire beside the middle of a round hole bears lower: where its outside meets the hole's.
    play = (hole.diameter_mm - hardware.wire_mm / across[0]) / 2
    off = (top / 2 + hardware.wire_mm / 2 * math.sin(_TURN)) * math.tan(_TURN)
    off += (turns - 1) / 2 * hardware.wire_mm * across[0]
    rest = (hole.rest_mm[0], hole.rest_mm[1] - play + math.sqrt(max(play * play - off * off, 0.0)))
    for number in range(turns):
        aside = (number - (turns - 1) / 2) * hardware.wire_mm
        points = [
            (
                rest[0] + (x - rest[0]) * math.sin(_TURN) + aside * across[0],
                y,
                top / 2 + (x - rest[0]) * math.cos(_TURN) + aside * across[1],
            )
            for x, y in path_of(hardware, rest)
        ]
        _wire(piece, hardware, points[:-1])


def _bail(piece: bpy.types.Collection, hardware: Any, rests: Sequence[Any], top: float) -> None:
    """A cord or chain from one hole to the other, up to a knot."""
    (x0, y0), (x1, y1) = rests[:2]
    knot = ((x0 + x1) / 2, max(y0, y1) + bail_mm(hardware, rests))
    low = hardware.wire_mm / 2
    corners = [(x0, y0 - low, top / 2), (*knot, top), (x1, y1 - low, top / 2), (*knot, 0.0)]
    points = []
    for begin, end in zip(corners, [*corners[1:], corners[0]], strict=True):
        points += [
            tuple(a + (b - a) * step / 24 for a, b in zip(begin, end, strict=True)) for step in range(24)
        ]
    _wire(piece, hardware, points)


def _wire(piece: bpy.types.Collection, hardware: Any, points: Sequence[Place]) -> None:
    """A closed line as round wire or cord, or as balls on a thread."""
    is_chain = hardware.kind == "ball-chain"
    curve = bpy.data.curves.new("Relief hardware", "CURVE")
    curve.dimensions, curve.bevel_resolution = "3D", 6
    curve.bevel_depth = hardware.wire_mm * (0.12 if is_chain else 0.5)
    spline = curve.splines.new("POLY")
    spline.points.add(len(points) - 1)
    spline.points.foreach_set("co", [value for point in points for value in (*point, 1.0)])
    spline.use_cyclic_u = spline.use_smooth = True
    _stand(piece, curve, "cord" if hardware.kind == "cord" else "metal")
    if not is_chain:
        return
    mesh, gone = bmesh.new(), math.inf
    for before, point in zip([points[-1], *points], points, strict=False):
        gone += math.dist(before, point)
        if gone >= _BEAD * hardware.wire_mm:
            gone = 0.0
            bmesh.ops.create_icosphere(
                mesh, subdivisions=2, radius=hardware.wire_mm / 2, matrix=Matrix.Translation(point)
            )
    _stand(piece, _mesh(mesh), "metal")


def _strap(piece: bpy.types.Collection, hardware: Any, rest: tuple[float, float], top: float) -> None:
    """A strap folded through a slot: half of it lies before the piece, half behind."""
    (x, y), wide, thick = rest, hardware.size_mm[0], hardware.wire_mm / 2
    mesh = bmesh.new()
    for low in (top + _GAP_MM, -_GAP_MM - thick):
        _box(mesh, (x - wide / 2, y - thick, low), (x + wide / 2, y + hardware.outer_mm, low + thick))
    _box(mesh, (x - wide / 2, y - thick, -_GAP_MM), (x + wide / 2, y - _GAP_MM, top + _GAP_MM))
    _stand(piece, _mesh(mesh), "web")


def _screw(piece: bpy.types.Collection, hardware: Any, center: tuple[float, float], top: float) -> None:
    """A countersunk screw, its head level with the top of the base."""
    (thread, head), mesh = hardware.size_mm, bmesh.new()
    deep = (head - thread) / 2  # 90 degrees
    _cone(mesh, (thread / 2, head / 2, deep), (*center, top - deep / 2))
    _cone(mesh, (thread / 2, thread / 2, _SHANK_MM), (*center, top - deep - _SHANK_MM / 2))
    _stand(piece, _mesh(mesh), "metal")


def _fixture(piece: bpy.types.Collection, hardware: Any, pocket: Any) -> None:
    """A magnet in its pocket, or the bar of a pin in its one, with the needle over the back."""
    middle, mesh = pocket.polygon.centroid, bmesh.new()
    x, y = middle.x, middle.y
    if pocket.kind == "magnet":
        wide, high = hardware.size_mm
        _cone(mesh, (wide / 2, wide / 2, high), (x, y, pocket.depth_mm - high / 2))
    else:
        long, wide, high = hardware.size_mm
        low = pocket.depth_mm - high
        _box(mesh, (x - long / 2, y - wide / 2, low), (x + long / 2, y + wide / 2, pocket.depth_mm))
        for end in (x - 0.45 * long, x + 0.45 * long):  # hinge and catch
            _box(mesh, (end - 1.0, y - 1.0, _NEEDLE_Z_MM - 0.5), (end + 1.0, y + 1.0, low))
        turned = Matrix.Translation((x, y, _NEEDLE_Z_MM)) @ Matrix.Rotation(math.pi / 2, 4, "Y")
        _cone(mesh, (_NEEDLE_MM, _NEEDLE_MM, 0.94 * long), turned)
    _stand(piece, _mesh(mesh), "metal")


def _box(mesh: bmesh.types.BMesh, low: Place, high: Place) -> None:
    middle = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
    sides = [b - a for a, b in zip(low, high, strict=True)]
    bmesh.ops.create_cube(mesh, size=1.0, matrix=Matrix.Translation(middle) @ Matrix.Diagonal((*sides, 1.0)))


def _cone(mesh: bmesh.types.BMesh, sizes: Place, place: Any) -> None:
    """Add a cone; `sizes` are its radii below and above and its height, `place` its middle or a matrix."""
    below, above, high = sizes
    where = place if isinstance(place, Matrix) else Matrix.Translation(place)
    bmesh.ops.create_cone(
        mesh, cap_ends=True, segments=48, radius1=below, radius2=above, depth=high, matrix=where
    )


def _mesh(mesh: bmesh.types.BMesh) -> bpy.types.Mesh:
    made = bpy.data.meshes.new("Relief hardware")
    mesh.to_mesh(made)
    mesh.free()
    made.shade_smooth()
    made.set_sharp_from_angle(angle=math.radians(40))
    return made


def _stand(piece: bpy.types.Collection, data: Any, kind: str) -> None:
    """Put a curve or mesh on the stage of a piece."""
    shades = {"metal": METAL, "cord": CORD, "web": WEB}
    data.materials.append(_material(kind, shades[kind][1]))
    item = bpy.data.objects.new("Relief hardware", data)
    item[stage.NAME], item.hide_select = _NAME, True
    pieces.collection(piece, pieces.STAGE).objects.link(item)


def _material(kind: str, color: tuple[int, int, int]) -> bpy.types.Material:
    for item in bpy.data.materials:
        if item.get(stage.NAME) == kind and item.library is None:
            return item
    made = bpy.data.materials.new(f"Relief {kind}")
    made[stage.NAME] = kind
    if made.node_tree is None:
        made.use_nodes = True
    made.diffuse_color = rgba = (*materials.linear(color), 1.0)
    shader = next(node for node in made.node_tree.nodes if node.type == "BSDF_PRINCIPLED")
    shader.inputs["Base Color"].default_value = rgba
    shader.inputs["Metallic"].default_value = 1.0 if kind == "metal" else 0.0
    shader.inputs["Roughness"].default_value = 0.35 if kind == "metal" else 0.9
    return made
