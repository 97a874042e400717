"""What every printable set must hold, asserted on the result and on the files it came to."""

from __future__ import annotations

import io
from itertools import combinations

import numpy as np
import shapely
import trimesh

from reliefsmith import Relief
from reliefsmith.formats import stl_bytes
from reliefsmith.model import Part

# Areas below this many mm2 are rounding of the 1 um grid, no plastic.
NO_AREA_MM2 = 1e-6


def assert_closed(part: Part) -> None:
    """Every edge is used once each way, no two vertices are equal, the volume is positive."""
    triangles, count = part.triangles.astype(np.int64), len(part.vertices)
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    forward, back = np.sort(edges @ (count, 1)), np.sort(edges @ (1, count))
    assert (forward[1:] != forward[:-1]).all(), f"{part.name}: an edge is used twice the same way"
    np.testing.assert_array_equal(forward, back)
    rows = part.vertices[np.lexsort(part.vertices.T)]
    assert (rows[1:] != rows[:-1]).any(axis=1).all(), f"{part.name}: equal vertices"
    a, b, c = (part.vertices[triangles[:, i]] for i in range(3))
    assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6 > 0, f"{part.name}: inside out"


def section_area(part: Part, z_mm: float) -> float:
    """Return the area in which a plane that meets no vertex cuts a closed solid.

    By Green's theorem over the segments in which it cuts the triangles, each with the solid on its left: no
    ring is put together, so an area holds where outlines touch or cross themselves.
    """
    corners = part.vertices[part.triangles]
    above = corners[..., 2] > z_mm
    corners = corners[above.any(axis=1) & ~above.all(axis=1)]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    onward = np.roll(corners, -1, axis=1)
    crossed = (corners[..., 2] > z_mm) != (onward[..., 2] > z_mm)
    start, end = corners[crossed], onward[crossed]  # two edges of each triangle, one after the other
    share = (z_mm - start[:, 2]) / (end[:, 2] - start[:, 2])
    p, q = np.moveaxis((start + share[:, None] * (end - start))[:, :2].reshape(-1, 2, 2), 1, 0)
    left_of = np.column_stack([-normal[:, 1], normal[:, 0]])
    sense = np.sign(((q - p) * left_of).sum(axis=1))
    return float((sense * (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])).sum() / 2)


def assert_closed_as_stl(part: Part) -> None:
    """A reader that merges equal float32 vertices still gets a closed solid of the same volume."""
    mesh = trimesh.load_mesh(io.BytesIO(stl_bytes(part)), file_type="stl")
    mesh.merge_vertices()
    assert mesh.is_watertight, part.name
    assert mesh.is_winding_consistent, part.name
    own = trimesh.Trimesh(part.vertices, part.triangles, process=False).volume
    assert abs(mesh.volume - own) <= 1e-4 * own, part.name


def assert_sound(relief: Relief, width_mm: float | None = None) -> None:
    """Parts closed, motifs on the base, base in one piece, nothing overlaps, the width as asked."""
    plan = relief.plan
    for part in relief.parts:
        assert_closed(part)
        assert_closed_as_stl(part)
    assert plan.base.geom_type == "Polygon", "the base is not in one piece"
    assert plan.base.is_valid
    for motif in plan.motifs:
        assert motif.polygon.is_valid
        assert motif.polygon.difference(plan.base).area < NO_AREA_MM2
    for one, other in combinations(plan.motifs, 2):
        assert one.polygon.intersection(other.polygon).area < NO_AREA_MM2
    _assert_parts_apart(relief)
    if width_mm is not None:
        x0, _, x1, _ = shapely.total_bounds(list(relief.areas.polygons))
        assert abs((x1 - x0) - width_mm) <= 0.01


def _assert_parts_apart(relief: Relief) -> None:
    """No two slabs share volume, and every part's mesh holds just its slabs' volume."""
    slabs = relief.stack.slabs
    for one, other in combinations(slabs, 2):
        low, high = max(one.bottom_mm, other.bottom_mm), min(one.highest_mm, other.highest_mm)
        if high > low:
            assert one.polygon.intersection(other.polygon).area < NO_AREA_MM2
    for part in relief.parts:
        own = trimesh.Trimesh(part.vertices, part.triangles, process=False).volume
        least = sum(s.polygon.area * (s.upright_mm - s.bottom_mm) for s in slabs if s.part == part.name)
        most = sum(s.polygon.area * (s.highest_mm - s.bottom_mm) for s in slabs if s.part == part.name)
        # Touching corners are moved apart by micrometers, so the mesh may differ by that little. For a flat
        # top both bounds are the same.
        slack = 1e-3 + 1e-5 * most
        assert least - slack <= own <= most + slack, part.name
