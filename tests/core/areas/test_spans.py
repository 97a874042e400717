"""Arcs cut at corners and nodes: pieces begin and end there; only what a corner or node blurs is left out."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.corners import Corners, find_corners
from reliefsmith.areas.graph import BoundaryGraph, build_graph
from reliefsmith.areas.neighbors import Chains
from reliefsmith.areas.spans import MIXED, ROUNDED, Pieces, cut_pieces

SQUARE = np.zeros((30, 30), np.uint8)
SQUARE[5:25, 5:25] = 1
HALVES = SQUARE.copy()
HALVES[5:25, 15:25] = 2


def cut(labels: np.ndarray, *, cornered: bool = True) -> tuple[BoundaryGraph, Chains, Corners, Pieces]:
    graph = build_graph(labels)
    chains = Chains(graph.middle, np.ones(len(graph.middle)), graph.starts, graph.tail < 0)
    no = np.zeros(len(chains.points), dtype=bool)
    corners = find_corners(chains, no if cornered else ~no, no)
    return graph, chains, corners, cut_pieces(graph, chains, corners, graph.nodes, no)


def test_a_ring_with_four_corners_becomes_four_pieces() -> None:
    _, _, corners, pieces = cut(SQUARE)
    assert len(corners.at) == 4
    ends = [pieces.chains.points[[a, b - 1]] for a, b in _spans(pieces)]
    assert not pieces.chains.closed.any()
    places = {(5.0, 5.0), (25.0, 5.0), (25.0, 25.0), (5.0, 25.0)}
    assert {tuple(np.round(end[0], 2)) for end in ends} == places
    for before, after in zip(ends, [*ends[1:], ends[0]], strict=True):
        assert (before[1] == after[0]).all()


def test_a_ring_without_corners_stays_one_closed_piece() -> None:
    y, x = np.mgrid[:40, :40]
    disc = ((x - 20) ** 2 + (y - 19) ** 2 < 150).astype(np.uint8)
    _, chains, _, pieces = cut(disc, cornered=False)
    assert pieces.chains.closed.tolist() == [True]
    assert len(pieces.chains.points) == len(chains.points)


def test_an_arc_between_nodes_begins_and_ends_at_them() -> None:
    graph, _, _, pieces = cut(HALVES)
    first = [a for a, _ in _spans(pieces)]
    last = [b - 1 for _, b in _spans(pieces)]
    for arc in range(len(graph.tail)):
        own = np.flatnonzero(pieces.arc == arc)
        assert (pieces.chains.points[first[own[0]]] == graph.nodes[graph.tail[arc]]).all()
        assert (pieces.chains.points[last[own[-1]]] == graph.nodes[graph.head[arc]]).all()
        assert pieces.crack[first[own[0]]] == pieces.crack[last[own[-1]]] == -1


def test_points_that_a_corner_or_node_blurs_are_left_out() -> None:
    graph, chains, corners, pieces = cut(HALVES)
    kept = np.unique(pieces.crack[pieces.crack >= 0])
    gone = np.setdiff1d(np.arange(len(chains.points)), kept)
    gap = {
        name: np.hypot(*(chains.points[gone, None] - places[None]).transpose(2, 0, 1)).min(axis=1, initial=99)
        for name, places in (("corner", corners.place), ("node", graph.nodes))
    }
    assert len(gone)
    assert ((gap["corner"] < np.maximum(corners.rounded, ROUNDED).max()) | (gap["node"] < MIXED)).all()


def test_solid_points_stay_even_beside_a_corner() -> None:
    graph, chains, corners, pieces = cut(SQUARE)
    every = np.ones(len(chains.points), dtype=bool)
    all_kept = cut_pieces(graph, chains, corners, graph.nodes, every)
    assert len(np.unique(all_kept.crack)) == len(chains.points) > len(np.unique(pieces.crack))


def test_the_first_points_beside_an_end_are_trusted_less() -> None:
    _, _, _, pieces = cut(HALVES)
    for a, b in _spans(pieces):
        if b - a > 4:
            weights = pieces.chains.weights[a:b]
            assert weights[[0, -1]].tolist() == [1.0, 1.0]
            assert (weights[[1, -2]] < 0.5).all()
            assert (weights[2:-2] == 1.0).all()


@given(st.integers(0, 2**32 - 1))
def test_pieces_of_any_picture_join_to_its_arcs(seed: int) -> None:
    """Blots by lot: pieces of an arc follow each other, each from where the last one ends."""
    rng = np.random.default_rng(seed)
    labels = np.kron(rng.integers(0, 3, (4, 4)), np.ones((7, 7))).astype(np.uint8)
    graph, _, _, pieces = cut(labels)
    assert (np.diff(pieces.arc) >= 0).all()
    assert set(pieces.arc.tolist()) == set(range(len(graph.tail)))
    spans = _spans(pieces)
    for index, (before, after) in enumerate(zip(pieces.arc[:-1], pieces.arc[1:], strict=True)):
        if before == after:
            ends = pieces.chains.points[[spans[index][1] - 1, spans[index + 1][0]]]
            assert (ends[0] == ends[1]).all()


def _spans(pieces: Pieces) -> list[tuple[int, int]]:
    starts = pieces.chains.starts.tolist()
    return list(pairwise(starts))
