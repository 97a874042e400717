"""The 2D kernel: 1 um grid, noded coverages, offsets, pieces."""

from __future__ import annotations

from .bedturn import turn_on_bed
from .coverage import faces_by_shape, faces_of, noded_coverage, union_of_faces
from .edges import longest_neighbor, shared_lengths
from .grid import GRID_MM, face_down, from_grid, on_grid, snapped, to_grid
from .nodes import lattice, nodes_within
from .offset import ARC_MM, arc_segments, closed, disc, grow, opened, shrink
from .pieces import (
    Disc,
    as_multi,
    as_single,
    inscribed,
    merged,
    openings,
    polygons_of,
    without,
    without_openings,
)
from .places import enclosed, nearest_mm, opening_at, piece_at, place_in, window_of
from .tiles import (
    PROTRUDING_MM,
    Tile,
    closed_fills,
    near,
    opened_area,
    opened_parts,
    protrusions,
    recesses,
    residue,
    tiles,
)

__all__ = [
    "ARC_MM",
    "GRID_MM",
    "PROTRUDING_MM",
    "Disc",
    "Tile",
    "arc_segments",
    "as_multi",
    "as_single",
    "closed",
    "closed_fills",
    "disc",
    "enclosed",
    "face_down",
    "faces_by_shape",
    "faces_of",
    "from_grid",
    "grow",
    "inscribed",
    "lattice",
    "longest_neighbor",
    "merged",
    "near",
    "nearest_mm",
    "noded_coverage",
    "nodes_within",
    "on_grid",
    "opened",
    "opened_area",
    "opened_parts",
    "opening_at",
    "openings",
    "piece_at",
    "place_in",
    "polygons_of",
    "protrusions",
    "recesses",
    "residue",
    "shared_lengths",
    "shrink",
    "snapped",
    "tiles",
    "to_grid",
    "turn_on_bed",
    "union_of_faces",
    "window_of",
    "without",
    "without_openings",
]
