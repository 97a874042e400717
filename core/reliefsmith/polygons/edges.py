"""One table of the edges of many polygons: which owners share an edge, and how long it is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ..model.arrays import Area, Flags, Floats, Ints
from .grid import from_grid, to_grid

__all__ = ["longest_neighbor", "rim_edges", "shared_lengths"]


def shared_lengths(polygons: Sequence[Area]) -> Floats:
    """Return rows (owner a, owner b, shared length in mm), a < b, sorted, of a valid coverage on the grid.

    Notes
    -----
    Every edge is an undirected pair of grid points; in a coverage it occurs twice where two polygons meet.
    One sort of all edges finds the pairs in n log n, where overlays of each piece with the rest take n^2.

    Examples
    --------
    >>> shared_lengths([shapely.box(0, 0, 2, 2), shapely.box(2, 0, 4, 2)]).tolist()
    [[0.0, 1.0, 2.0]]
    """
    first, second, length, owner = _edge_table(polygons)
    same = _same_as_next(first, second)
    at = np.flatnonzero(same)
    at = at[owner[at] != owner[at + 1]]
    pairs = np.column_stack([owner[at], owner[at + 1]])  # equal edges are sorted by owner
    unique, index = np.unique(pairs, axis=0, return_inverse=True)
    total = np.zeros(len(unique))
    np.add.at(total, index.reshape(-1), length[at])
    return np.column_stack([unique.astype(np.float64), total])


def longest_neighbor(table: Floats, owner: int) -> int | None:
    """Return the owner with the longest boundary shared with `owner`, or None; ties: the first row.

    Examples
    --------
    >>> table = shared_lengths([shapely.box(0, 0, 2, 2), shapely.box(2, 0, 3, 2), shapely.box(0, 2, 1, 3)])
    >>> longest_neighbor(table, 0)
    1
    """
    rows = table[(table[:, 0] == owner) | (table[:, 1] == owner)]
    if len(rows) == 0:
        return None
    row = rows[np.argmax(rows[:, 2])]
    return int(row[1] if int(row[0]) == owner else row[0])


def rim_edges(
    polygons: Sequence[Area],
) -> tuple[Floats, Ints]:
    """Return the edges (n, 2 ends, 2) in mm of a valid coverage that only one polygon has, and their owners.

    Examples
    --------
    >>> ends, owner = rim_edges([shapely.box(0, 0, 2, 2), shapely.box(2, 0, 4, 2)])
    >>> owner.tolist(), [2.0, 0.0] in ends[:, 0].tolist()
    ([0, 0, 0, 1, 1, 1], True)
    """
    first, second, _, owner = _edge_table(polygons)
    same = _same_as_next(first, second)
    once = ~(np.append(same, False) | np.insert(same, 0, False))
    order = np.argsort(owner[once], kind="stable")
    ends = np.stack([from_grid(first[once]), from_grid(second[once])], axis=1)
    return ends[order], owner[once][order]


def _same_as_next(first: Ints, second: Ints) -> Flags:
    same: Flags = np.all(first[1:] == first[:-1], axis=1)
    same &= np.all(second[1:] == second[:-1], axis=1)
    return same


def _edge_table(
    polygons: Sequence[Area],
) -> tuple[Ints, Ints, Floats, Ints]:
    """Return the sorted edges of all rings: lower end, upper end, length in mm, owner."""
    parts, part_owner = shapely.get_parts(np.asarray(polygons, dtype=object), return_index=True)
    rings, ring_part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inside = ring[1:] == ring[:-1]
    grid = to_grid(points)
    start, end = grid[:-1][inside], grid[1:][inside]
    length = np.hypot(*(points[1:] - points[:-1])[inside].T)
    owner = part_owner[ring_part[ring[1:][inside]]].astype(np.int64)
    swap = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    start[swap], end[swap] = end[swap], start[swap].copy()
    order = np.lexsort((owner, end[:, 1], end[:, 0], start[:, 1], start[:, 0]))
    return start[order], end[order], length[order], owner[order]
