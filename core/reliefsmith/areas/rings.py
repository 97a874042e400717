"""From arcs to areas: rings walked in the graph, each with the label that its own arcs name."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from ..model.arrays import Floats, Ints, Points
from ..polygons.groups import counted_on
from .chains import rank_chains
from .graph import BoundaryGraph

__all__ = ["build_polygons"]


def build_polygons(
    graph: BoundaryGraph, points: Points, starts: Ints, colors: int
) -> tuple[shapely.MultiPolygon, ...]:
    """Return the area of each label from 1 to `colors`.

    Parameters
    ----------
    graph : BoundaryGraph
    points : float64 array of shape (n, 2)
        Vertices of all arcs, both nodes included; a ring's last point equals its first.
    starts : int64 array of shape (m + 1,)
        First vertex of each arc, and n.
    colors : int
    """
    half, cycle_starts = _walk(graph)
    vertices, ring_starts, nodes = _ring_vertices(graph, points, starts, half, cycle_starts)
    first = half[cycle_starts[:-1]]
    arc, forward = first // 2, first % 2 == 0
    label = np.where(forward, graph.left_label[arc], graph.right_label[arc])
    piece = np.where(forward, graph.left_piece[arc], graph.right_piece[arc])
    vertices, ring_starts, source = _without_pinches(vertices, ring_starts, nodes)
    label, piece = label[source], piece[source]
    area = _signed_areas(vertices, ring_starts)
    # The shell of a piece is its one ring that is walked with the area on its inside.
    order = np.lexsort((-area, piece, label))
    order = order[label[order] > 0]
    if not order.size:
        return tuple(shapely.MultiPolygon() for _ in range(colors))
    sizes = np.diff(ring_starts)
    index, own = counted_on(ring_starts[order], sizes[order])
    rings = shapely.linearrings(
        vertices[index],
        indices=own,
    )
    key = label[order] * (int(piece.max()) + 1) + piece[order]
    shells, group = np.unique(key, return_inverse=True)
    polygons = shapely.polygons(rings, indices=group)
    owner = (shells // (int(piece.max()) + 1)) - 1
    return tuple(shapely.MultiPolygon(list(polygons[owner == color])) for color in range(colors))


def _walk(graph: BoundaryGraph) -> tuple[Ints, Ints]:
    """Walk round every area with the area on the left; return half-arcs in order, and where each walk starts.

    Half-arc 2 a is arc a as directed, 2 a + 1 the same backward.
    """
    arcs = np.arange(graph.starts.size - 1)
    leave_forward = graph.direction[graph.starts[:-1]]
    arrive_forward = graph.direction[graph.starts[1:] - 1]
    tail = np.stack((graph.tail, graph.head), axis=1).ravel()
    head = np.stack((graph.head, graph.tail), axis=1).ravel()
    leave = np.stack((leave_forward, (arrive_forward + 2) % 4), axis=1).ravel()
    arrive = np.stack((arrive_forward, (leave_forward + 2) % 4), axis=1).ravel()
    table = np.full((len(graph.nodes), 4), -1, dtype=np.int64)
    is_open = np.flatnonzero(tail >= 0)
    table[tail[is_open], leave[is_open]] = is_open
    following = np.arange(2 * arcs.size)
    for turn in (-1, 0, 1):  # the leftmost way wins, so it is tried last
        choice = table[head[is_open], (arrive[is_open] + turn) % 4]
        following[is_open] = np.where(choice >= 0, choice, following[is_open])
    previous = np.empty_like(following)
    previous[following] = np.arange(following.size)
    first, rank, _ = rank_chains(previous)
    order = np.lexsort((rank, first))
    starts = np.append(np.flatnonzero(np.diff(first[order], prepend=-1)), order.size)
    return order, starts


def _ring_vertices(
    graph: BoundaryGraph, points: Points, starts: Ints, half: Ints, cycle_starts: Ints
) -> tuple[Points, Ints, Ints]:
    """Lay the arcs' vertices one after the other; each half-arc gives all but its last vertex, then close.

    Returns
    -------
    vertices : float64 array of shape (n, 2)
    starts : int64 array of shape (m + 1,)
    nodes : int64 array of shape (n,)
        Node that a vertex is, or -1.
    """
    arc, backward = half // 2, half % 2 == 1
    size = np.diff(starts)[arc] - 1
    begin = np.where(backward, starts[1:][arc] - 1, starts[:-1][arc])
    within, own = counted_on(np.zeros_like(size), size)
    index = begin[own] + np.where(backward[own], -within, within)
    node = np.where(within == 0, np.where(backward, graph.head[arc], graph.tail[arc])[own], -1)
    offsets = np.concatenate(([0], np.cumsum(size)))
    begins = offsets[cycle_starts]
    return _closed(points[index], begins, node)


def _closed(points: Points, begins: Ints, node: Ints) -> tuple[Points, Ints, Ints]:
    """Repeat the first vertex of each ring at its end."""
    order = np.concatenate((np.arange(len(points)), begins[:-1]))
    key = np.concatenate((np.arange(len(points)), begins[1:] - 0.5))
    order = order[np.argsort(key, kind="stable")]
    return points[order], begins + np.arange(begins.size), node[order]


def _signed_areas(vertices: Points, starts: Ints) -> Floats:
    ring = np.repeat(np.arange(starts.size - 1), np.diff(starts))
    local = vertices - vertices[starts[:-1]][ring]
    cross = np.zeros(len(vertices))
    cross[1:] = local[:-1, 0] * local[1:, 1] - local[:-1, 1] * local[1:, 0]
    area: Floats = np.add.reduceat(cross, starts[:-1]) / 2.0
    return area


def _without_pinches(vertices: Points, starts: Ints, nodes: Ints) -> tuple[Points, Ints, Ints]:
    """Split rings that pass the same node twice; return vertices, starts and the ring each one came from.

    Only the few rings that pinch are walked, node by node.
    """
    ring = np.repeat(np.arange(starts.size - 1), np.diff(starts))
    inner = np.ones(len(vertices), dtype=bool)
    inner[starts[1:] - 1] = False
    visits = np.flatnonzero((nodes >= 0) & inner)
    key = ring[visits] * (int(nodes.max(initial=0)) + 1) + nodes[visits]
    values, counts = np.unique(key, return_counts=True)
    pinched = np.unique(values[counts > 1] // (int(nodes.max(initial=0)) + 1))
    whole = np.delete(np.arange(starts.size - 1), pinched)
    spans = [(int(r), np.arange(starts[r], starts[r + 1])) for r in pinched]
    parts = [(r, loop) for r, span in spans for loop in _loops(span, nodes)]
    sizes = np.concatenate(
        (np.diff(starts)[whole], np.array([len(loop) for _, loop in parts], dtype=np.int64))
    )
    index, _ = counted_on(starts[whole], np.diff(starts)[whole])
    index = np.concatenate([index, *(loop for _, loop in parts)])
    source = np.concatenate((whole, np.array([r for r, _ in parts], dtype=np.int64)))
    return vertices[index], np.concatenate(([0], np.cumsum(sizes))), source


def _loops(span: Ints, nodes: Ints) -> list[Ints]:
    """Cut one closed ring (indices of its vertices) into loops that pass no node twice."""
    at = np.flatnonzero(nodes[span] >= 0)
    loops: list[Ints] = []
    stack: list[tuple[int, list[Ints]]] = []
    seen: dict[int, int] = {}
    for begin, end in pairwise(at):
        node = int(nodes[span[begin]])
        seen[node] = len(stack)
        stack.append((node, [span[begin:end]]))
        after = int(nodes[span[end]])
        if after in seen:
            depth = seen[after]
            chunks = [chunk for _, part in stack[depth:] for chunk in part]
            loops.append(np.concatenate([*chunks, chunks[0][:1]]))
            for gone, _ in stack[depth:]:
                del seen[gone]
            del stack[depth:]
    return loops
