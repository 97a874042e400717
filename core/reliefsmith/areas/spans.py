"""Cut arcs at their corners into pieces whose ends are fixed: nodes and corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.arrays import Flags, Floats, Ints, Points
from .corners import Corners
from .graph import BoundaryGraph
from .neighbors import Chains, Neighbors

__all__ = ["Pieces", "cut_pieces"]

ROUNDED = 1.4
"""Pixels from a corner within which the picture's own points are rounded by the pixel, and left out."""

STEPS = 8
"""Points to each side of a corner that may be left out."""

MIXED = 1.6
"""Pixels from a node within which points hold a third color, and are left out."""

WEIGHT_NEXT = 0.1
"""Trust in the first point that is left beside a corner."""

WEIGHT_NODE_NEXT = 0.3
"""Trust in the first point that is left beside a node."""

WEIGHT_CORNER, WEIGHT_NODE = 1.0, 1.0
"""Trust in a fitted corner and node as the end of a piece."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces in the order of their arcs.

    Parameters
    ----------
    chains : Chains
        One chain for each piece; neighbors in an arc repeat the corner between them.
    crack : int64 array of shape (n,)
        The crack that each point came from; -1 for nodes.
    arc : int64 array of shape (m,)
        Arc of each piece.
    """

    chains: Chains
    crack: Ints
    arc: Ints


def cut_pieces(graph: BoundaryGraph, chains: Chains, corners: Corners, nodes: Points, solid: Flags) -> Pieces:
    """Put nodes and corners into the chains of the arcs and cut there.

    Parameters
    ----------
    graph : BoundaryGraph
    chains : Chains
        One chain for each arc.
    corners : Corners
    nodes : float64 array of shape (k, 2)
    solid : bool array of shape (n,)
        Points that stay even beside a corner or node.
    """
    points, weights = chains.points.copy(), chains.weights.copy()
    corner = np.zeros(len(points), dtype=bool)
    corner[corners.at] = True
    points[corners.at], weights[corners.at] = corners.place, WEIGHT_CORNER
    keep = _kept(graph, chains, corners, nodes, solid)
    arc, place, repeat = _places(chains, corner, keep)
    index = np.flatnonzero(keep)
    twice = index[corner[index] & repeat[index]]
    is_open = np.flatnonzero(~chains.closed)
    rows_arc = np.concatenate((arc[index], arc[twice], is_open, is_open))
    rows_crack = np.concatenate((index, twice, np.full(2 * is_open.size, -1)))
    ring_first = corner & (place == 0) & chains.closed[arc]
    later = np.where(ring_first[twice], chains.sizes[arc[twice]], place[twice] + 0.5)
    rows_place = np.concatenate(
        (place[index], later, np.full(is_open.size, -1.0), chains.sizes[is_open].astype(float))
    )
    rows_points = np.vstack(
        (points[index], points[twice], nodes[graph.tail[is_open]], nodes[graph.head[is_open]])
    )
    rows_weight = np.concatenate((weights[index], weights[twice], np.full(2 * is_open.size, WEIGHT_NODE)))
    # A piece begins at a tail node, at a ring's start, and at the second copy of a corner inside an arc.
    begins = np.concatenate(
        (
            ring_first[index]
            | (chains.closed[arc[index]] & ~_has_corner(chains, corner)[arc[index]] & (place[index] == 0)),
            ~ring_first[twice],
            np.ones(is_open.size, dtype=bool),
            np.zeros(is_open.size, dtype=bool),
        )
    )
    order = np.lexsort((rows_place, rows_arc))
    rows_arc, begins = rows_arc[order], begins[order]
    starts = np.append(np.flatnonzero(begins), begins.size)
    piece_arc = rows_arc[starts[:-1]]
    closed = chains.closed[piece_arc] & ~_has_corner(chains, corner)[piece_arc]
    crack = rows_crack[order]
    weight = _beside(rows_weight[order], crack, corner, starts, closed)
    return Pieces(Chains(rows_points[order], weight, starts, closed), crack, piece_arc)


def _has_corner(chains: Chains, corner: Flags) -> Flags:
    has = np.zeros(chains.sizes.size, dtype=bool)
    has[chains.chain_of[corner]] = True
    return has


def _kept(graph: BoundaryGraph, chains: Chains, corners: Corners, nodes: Points, solid: Flags) -> Flags:
    """Leave out the points that a corner's or node's pixel has rounded or mixed."""
    keep = np.ones(len(chains.points), dtype=bool)
    look = Neighbors.of(chains)
    rounded = np.maximum(corners.rounded, ROUNDED)
    for step in range(1, STEPS + 1):
        for offset in (-step, step):
            near, _, exists = look.at(offset, corners.at)
            gap = np.hypot(*(chains.points[near] - corners.place).T)
            keep[near[exists & (gap < rounded)]] = False
    is_open = np.flatnonzero(~chains.closed)
    for node, at, sign in (
        (graph.tail[is_open], chains.starts[:-1][is_open], 1),
        (graph.head[is_open], chains.starts[1:][is_open] - 1, -1),
    ):
        for offset in range(4):
            near, _, exists = look.at(sign * offset, at)
            gap = np.hypot(*(chains.points[near] - nodes[node]).T)
            keep[near[exists & (gap < MIXED)]] = False
    keep[corners.at] = True
    keep |= solid
    return keep


def _places(chains: Chains, corner: Flags, keep: Flags) -> tuple[Ints, Floats, Flags]:
    """Return arc and place along it of each point, rings turned to start at their first corner.

    Rings without a corner start at their first kept point. The third value tells which corners appear
    twice: all of them.
    """
    arc = chains.chain_of
    begin = chains.starts[:-1][arc]
    place = (np.arange(arc.size) - begin).astype(np.float64)
    start = np.zeros(chains.sizes.size)
    for choice in (keep, corner):
        at = np.flatnonzero(choice)[::-1]
        start[arc[at]] = place[at]
    turned = np.where(chains.closed[arc], (place - start[arc]) % chains.sizes[arc], place)
    return arc, turned, corner


def _beside(
    weight: Floats,
    crack: Ints,
    corner: Flags,
    starts: Ints,
    closed: Flags,
) -> Floats:
    """Trust the points next to fixed ends less: the pixel rounds corners and mixes colors at nodes."""
    sizes = np.diff(starts)
    wide = ~closed & (sizes > 3)
    for end, beside in (
        (starts[:-1][wide], starts[:-1][wide] + 1),
        (starts[1:][wide] - 1, starts[1:][wide] - 2),
    ):
        at_corner = (crack[end] >= 0) & corner[np.maximum(crack[end], 0)]
        weight[beside] *= np.where(at_corner, WEIGHT_NEXT, WEIGHT_NODE_NEXT)
    return weight
