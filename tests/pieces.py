"""Small pieces with known sizes for tests of files: plates with holes, made by an independent library."""

from __future__ import annotations

import numpy as np
import shapely
import trimesh

from reliefsmith.model import FlatAreas, Frame, Motif, Part, Plan

WIDTH_MM, DEPTH_MM, BASE_MM, MOTIF_MM = 70.0, 40.0, 1.6, 0.6
# Off the origin, left and below it: what a build item's transform has to move.
LEFT_MM, BOTTOM_MM = -31.234, -17.001
RED, TEAL, DARK = (211, 32, 32), (30, 138, 138), (20, 24, 33)


def on_grid(shape: shapely.Geometry) -> shapely.Geometry:
    """Put a shape on the 1 um grid of the plan."""
    return shapely.transform(shape, lambda points: np.round(points, 3))


def base_shape() -> shapely.Polygon:
    """A plate with a round hole and a square one."""
    plate = shapely.box(LEFT_MM, BOTTOM_MM, LEFT_MM + WIDTH_MM, BOTTOM_MM + DEPTH_MM)
    hole = shapely.Point(LEFT_MM + 6, BOTTOM_MM + DEPTH_MM - 6).buffer(2.5, quad_segs=16)
    return on_grid(plate.difference(hole).difference(shapely.box(20, -10, 25, -5)))


def motif_shapes() -> tuple[shapely.MultiPolygon, shapely.MultiPolygon]:
    """A ring with an island in it, and a triangle that shares no point with them."""
    ring = shapely.Point(0, 0).buffer(9).difference(shapely.Point(0, 0).buffer(6.5))
    island = shapely.Point(0.5, 0).buffer(3, quad_segs=5)
    arrow = shapely.Polygon([(11, -6), (19.5, 0.125), (11, 6)])
    return on_grid(shapely.MultiPolygon([ring, island])), on_grid(shapely.MultiPolygon([arrow]))


def solid(shape: shapely.Geometry, bottom_mm: float, top_mm: float) -> trimesh.Trimesh:
    """Extrude every polygon of a shape."""
    pieces = [
        trimesh.creation.extrude_polygon(one, top_mm - bottom_mm, engine="earcut")
        for one in shapely.get_parts(shape)
    ]
    mesh = trimesh.util.concatenate(pieces)
    mesh.apply_translation([0, 0, bottom_mm])
    mesh.merge_vertices()
    assert mesh.is_volume
    return mesh


def part(
    name: str, color: tuple[int, int, int], shape: shapely.Geometry, heights: tuple[float, float]
) -> Part:
    """Extrude a shape to a part; the base is the part of that name."""
    mesh = solid(shape, *heights)
    role = "base" if name == "base" else "motif"
    return Part(name, role, color, np.round(mesh.vertices, 3), mesh.faces.astype(np.int32))


def parts() -> tuple[Part, ...]:
    """A base and two motifs on it, in three colors."""
    top = (BASE_MM, BASE_MM + MOTIF_MM)
    red, teal = motif_shapes()
    return (
        part("base", DARK, base_shape(), (0.0, BASE_MM)),
        part("red", RED, red, top),
        part("teal", TEAL, teal, top),
    )


def volumes_mm3() -> tuple[float, ...]:
    """Area times height of each of `parts`."""
    red, teal = motif_shapes()
    return base_shape().area * BASE_MM, red.area * MOTIF_MM, teal.area * MOTIF_MM


def frame() -> Frame:
    """A frame with nothing special about it."""
    return Frame(0.125, (250.5, 160.25), 1.5, (560, 320))


def areas() -> FlatAreas:
    """The motifs' shapes as areas of flat color."""
    colors = np.array([RED, TEAL], dtype=np.uint8)
    left, bottom, right, top = shapely.total_bounds(list(motif_shapes()))
    return FlatAreas(motif_shapes(), colors, frame(), (right - left, top - bottom))


def plan() -> Plan:
    """The pieces seen from above."""
    red, teal = motif_shapes()
    return Plan(
        base=base_shape(),
        base_color=DARK,
        base_is_extra=True,
        motifs=(Motif(RED, red), Motif(TEAL, teal)),
        areas=(red, teal),
        area_colors=(RED, TEAL),
        frame=frame(),
        artwork_mm=areas().size_mm,
    )
