"""Measures that only tests ask for: faults of a coverage, and what a mesh has of area, shape and topology."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
import trimesh

from reliefsmith.mesh import Mesh
from reliefsmith.polygons import GRID_MM, on_grid


def coverage_faults(polygons: Sequence[shapely.Geometry]) -> tuple[str, ...]:
    """Return what is wrong with a coverage, one line for each fault; empty where nothing is."""
    faults = []
    for index, polygon in enumerate(polygons):
        if not polygon.is_valid:
            faults.append(f"polygon {index} is not valid: {shapely.is_valid_reason(polygon)}")
        elif not on_grid(polygon):
            faults.append(f"polygon {index} is off the grid of {GRID_MM} mm")
    if not faults and len(polygons) > 1:
        edges = shapely.coverage_invalid_edges(np.asarray(polygons, dtype=object))
        bad = edges[~shapely.is_empty(edges)]
        if len(bad):
            faults.append(f"polygons overlap or do not share vertices near {bad[0].centroid.wkt}")
    return tuple(faults)


def surface_area(mesh: Mesh) -> float:
    """Return the area of all triangles in mm2."""
    return float(trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).area)


def euler_characteristic(mesh: Mesh) -> int:
    """Return vertices - edges + faces: 2 for each piece, less 2 for each hole through it."""
    return int(trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).euler_number)


def worst_aspect(mesh: Mesh) -> float:
    """Return the largest ratio of a triangle's longest side to its height over that side."""
    a, b, c = (mesh.vertices[mesh.triangles[:, corner]] for corner in range(3))
    doubled = np.sqrt((np.cross(b - a, c - a) ** 2).sum(axis=1))
    longest = np.maximum(np.maximum(((b - a) ** 2).sum(1), ((c - b) ** 2).sum(1)), ((a - c) ** 2).sum(1))
    with np.errstate(divide="ignore"):
        return float((longest / doubled).max())


def merged_vertices(mesh: Mesh) -> Mesh:
    """Return the mesh as readers of binary STL have it: vertices equal in single precision are one."""
    stored = (mesh.vertices + 0.0).astype(np.float32)  # -0.0 becomes 0.0
    places, index = np.unique(stored, axis=0, return_inverse=True)
    return Mesh(places.astype(np.float64), index.reshape(-1)[mesh.triangles].astype(np.int32))
