"""Nodes by least squares of the lines that meet there, in pictures of rays from a known point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.corners import Corners
from reliefsmith.areas.graph import BoundaryGraph, build_graph
from reliefsmith.areas.junctions import FARTHEST, fit_nodes
from reliefsmith.areas.neighbors import Chains

SIDE = 40
NONE = Corners(np.empty(0, np.int64), np.empty((0, 2)), np.empty(0))


def rays(point: np.ndarray, turns: np.ndarray) -> tuple[BoundaryGraph, Chains, int]:
    """Three sectors round a point; points of the chains lie exactly on the rays between them."""
    y, x = np.mgrid[:SIDE, :SIDE] + 0.5
    angle = np.arctan2(y - point[1], x - point[0]) % (2 * np.pi)
    labels = (1 + np.searchsorted(np.sort(turns), angle) % 3).astype(np.uint8)
    graph = build_graph(labels)
    offset = graph.middle - point
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    along = np.maximum(offset @ ways.T, 0.0)
    places = along[:, :, None] * ways
    nearest = np.hypot(*(places - offset[:, None]).transpose(2, 0, 1)).argmin(axis=1)
    framed = np.isin(graph.middle, [0, SIDE]).any(axis=1)
    points = np.where(framed[:, None], graph.middle, point + places[np.arange(len(offset)), nearest])
    node = int(np.hypot(*(graph.nodes - point).T).argmin())
    return graph, Chains(points, np.ones(len(points)), graph.starts, graph.tail < 0), node


@given(st.floats(19.6, 20.4), st.floats(19.6, 20.4), st.floats(0, 2))
def test_a_node_lies_where_its_three_lines_meet(x: float, y: float, turn: float) -> None:
    """The lattice corner pulls with a twentieth of a line's weight: by so much it may be off."""
    point = np.array([x, y])
    graph, chains, node = rays(point, turn + np.radians([0, 120, 240]))
    found = fit_nodes(graph, chains, NONE)
    off = np.hypot(*(graph.nodes[node] - point))
    assert np.hypot(*(found[node] - point)) <= 0.05 * off + 1e-6


def test_nodes_on_the_frame_stay_on_it_and_corners_of_the_picture_stay() -> None:
    graph, chains, _ = rays(np.array([20.2, 19.8]), np.radians([10, 130, 250]))
    found = fit_nodes(graph, chains, NONE)
    for axis in (0, 1):
        for edge in (0, SIDE):
            held = graph.nodes[:, axis] == edge
            assert (found[held, axis] == edge).all()
    assert ((found >= 0) & (found <= SIDE)).all()


def test_no_node_moves_farther_than_its_pixel_can_be_off() -> None:
    point = np.array([20.3, 20.3])
    graph, chains, node = rays(point, np.radians([5, 125, 245]))
    shifted = Chains(chains.points + np.array([6.0, 0.0]), chains.weights, chains.starts, chains.closed)
    found = fit_nodes(graph, shifted, NONE)
    assert np.hypot(*(found[node] - graph.nodes[node])) == pytest.approx(FARTHEST)


def test_lines_are_fitted_up_to_the_first_corner_only() -> None:
    """One ray bends 9 points off; with the corner known, the bend does not draw the node aside."""
    point = np.array([20.2, 19.9])
    graph, chains, node = rays(point, np.radians([0, 120, 240]))
    (arc,) = np.flatnonzero(((graph.tail == node) | (graph.head == node)) & (np.diff(graph.starts) > 18))[:1]
    own = np.arange(graph.starts[arc], graph.starts[arc + 1])
    own = own if graph.tail[arc] == node else own[::-1]
    points = chains.points.copy()
    points[own[5:]] += np.linspace(0, 12, len(own) - 5)[:, None] * np.array([0.0, 1.0])
    bent = Chains(points, chains.weights, chains.starts, chains.closed)
    corner = Corners(own[5:6], points[own[5:6]], np.array([1.3]))
    known, unknown = fit_nodes(graph, bent, corner)[node], fit_nodes(graph, bent, NONE)[node]
    assert np.hypot(*(known - point)) < 0.02
    assert np.hypot(*(unknown - point)) > 2 * np.hypot(*(known - point))
