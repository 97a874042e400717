"""Place the nodes where three or more areas meet: the point nearest to all lines that arrive there."""

from __future__ import annotations

import numpy as np

from ..model.arrays import Flags, Floats, Ints, Points
from .corners import Corners, fit_side
from .graph import BoundaryGraph
from .neighbors import Chains, Neighbors, moments_of

__all__ = ["fit_nodes"]

FIRST, LAST = 1, 6
"""Points of an arc, counted from its node, that its line is fitted to; point 0 mixes a third color."""

SIGMA = 3.0
"""Reach of the fit in pixels of arc length."""

PULL = 0.05
"""Weight of the node's lattice corner against each line's 1; decides where all lines are parallel."""

FARTHEST = 1.2
"""Pixels that a node may move from its lattice corner."""


def fit_nodes(graph: BoundaryGraph, chains: Chains, corners: Corners) -> Points:
    """Return the place of every node by least squares of the lines fitted to the ends of its arcs.

    Parameters
    ----------
    graph : BoundaryGraph
    chains : Chains
        One chain for each arc, without its nodes.
    corners : Corners
        A line is fitted only up to the first corner.
    """
    open_arcs = np.flatnonzero(~chains.closed)
    cut = np.zeros(len(chains.points), dtype=bool)
    cut[corners.at] = True
    normal, base, known = _end_lines(chains, cut, open_arcs)
    node = np.concatenate((graph.tail[open_arcs], graph.head[open_arcs]))
    weight = np.where(known, 1.0, 0.0)
    offset = (normal * (base - graph.nodes[node])).sum(axis=1)
    count = len(graph.nodes)

    def total(values: Floats) -> Floats:
        sums: Floats = np.bincount(node, weights=values * weight, minlength=count).astype(np.float64)
        return sums

    xx = total(normal[:, 0] ** 2) + PULL
    xy = total(normal[:, 0] * normal[:, 1])
    yy = total(normal[:, 1] ** 2) + PULL
    bx, by = total(normal[:, 0] * offset), total(normal[:, 1] * offset)
    determinant = xx * yy - xy * xy
    move = np.stack((yy * bx - xy * by, xx * by - xy * bx), axis=1) / determinant[:, None]
    length = np.hypot(move[:, 0], move[:, 1])
    move *= np.minimum(1.0, FARTHEST / np.maximum(length, 1e-12))[:, None]
    return _on_frame(graph, graph.nodes + move)


def _end_lines(chains: Chains, cut: Flags, arcs: Ints) -> tuple[Points, Points, Flags]:
    """Fit a line to both ends of the given arcs; return normals, points on the lines, and which are known."""
    look = Neighbors.of(chains)
    normals, bases, known = [], [], []
    for at, sign in ((chains.starts[:-1][arcs], 1), (chains.starts[1:][arcs] - 1, -1)):
        reach = np.full(len(arcs), LAST)
        for step in range(LAST, 0, -1):
            index, _, exists = look.at(sign * step, at)
            hit = exists & cut[index]
            reach[hit] = step - 1
        fits = _limited(chains, look, at, sign, reach)
        normals.append(fits[0])
        bases.append(fits[1])
        known.append(fits[2])
    return np.vstack(normals), np.vstack(bases), np.concatenate(known)


def _limited(
    chains: Chains, look: Neighbors, at: Ints, sign: int, reach: Ints
) -> tuple[Points, Points, Flags]:
    """Fit lines to points FIRST to `reach` from the chain ends `at`."""
    normal = np.zeros((at.size, 2))
    base = np.zeros((at.size, 2))
    known = np.zeros(at.size, dtype=bool)
    for last in range(FIRST + 1, LAST + 1):
        mine = np.flatnonzero(reach == last)
        if not mine.size:
            continue
        offsets = range(FIRST, last + 1) if sign > 0 else range(-last, -FIRST + 1)
        steps = look.steps(chains, offsets, at[mine])
        fits = fit_side(moments_of(steps, mine.size, SIGMA, 1.0), chains.points[at[mine]])
        direction = fits.direction
        normal[mine] = np.stack((-direction[:, 1], direction[:, 0]), axis=1)
        base[mine] = fits.center
        known[mine] = fits.count >= 2
    return normal, base, known


def _on_frame(graph: BoundaryGraph, nodes: Points) -> Points:
    """Keep nodes on the picture's frame where they were, and all others inside."""
    height, width = graph.shape
    limits = np.array([width, height], dtype=np.float64)
    held: Points = np.clip(nodes, 0.0, limits)
    for edge in (np.zeros(2), limits):
        held = np.where(graph.nodes == edge, edge, held)
    return held
