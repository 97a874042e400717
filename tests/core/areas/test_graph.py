"""The graph of a label map: every boundary once, its labels on the right sides, nodes where three meet."""

from __future__ import annotations

from collections import Counter

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import ndimage

from reliefsmith.areas.graph import BoundaryGraph, build_graph

STEPS = np.array([(0.5, 0.0), (0.0, 0.5), (-0.5, 0.0), (0.0, -0.5)])
"""From a crack's middle to its head: right, down, left, up."""

maps = hnp.arrays(
    np.uint8, st.tuples(st.integers(1, 7), st.integers(1, 7)), elements=st.integers(0, 3), fill=st.nothing()
)


def _at(labels: np.ndarray, places: np.ndarray) -> np.ndarray:
    padded = np.pad(labels, 1)
    return padded[places[:, 1] + 1, places[:, 0] + 1]


def _ends(graph: BoundaryGraph) -> tuple[np.ndarray, np.ndarray]:
    step = STEPS[graph.direction]
    return graph.middle - step, graph.middle + step


@given(maps)
def test_every_side_between_unlike_pixels_is_a_crack_once(labels: np.ndarray) -> None:
    graph = build_graph(labels)
    padded = np.pad(labels, 1).astype(int)
    unlike = np.count_nonzero(np.diff(padded, axis=0)) + np.count_nonzero(np.diff(padded, axis=1))
    assert len(graph.middle) == unlike == len({tuple(place) for place in graph.middle.tolist()})
    left, right = _at(labels, graph.left), _at(labels, graph.right)
    assert (left > right).all()
    assert (left == graph.left_label[graph.arc_of]).all()
    assert (right == graph.right_label[graph.arc_of]).all()
    assert (graph.left + graph.right + 1 == 2 * graph.middle).all()


@given(maps)
def test_arcs_are_unbroken_and_end_at_nodes_or_close(labels: np.ndarray) -> None:
    graph = build_graph(labels)
    tails, heads = _ends(graph)
    for arc, (start, stop) in enumerate(zip(graph.starts[:-1], graph.starts[1:], strict=True)):
        assert (heads[start : stop - 1] == tails[start + 1 : stop]).all()
        if graph.tail[arc] < 0:
            assert graph.head[arc] < 0
            assert (tails[start] == heads[stop - 1]).all()
        else:
            assert (tails[start] == graph.nodes[graph.tail[arc]]).all()
            assert (heads[stop - 1] == graph.nodes[graph.head[arc]]).all()


@given(maps)
def test_nodes_are_where_three_boundaries_meet(labels: np.ndarray) -> None:
    """At a corner with two pairs of equal pixels crosswise two boundaries pass each other."""
    graph = build_graph(labels)
    tails, heads = _ends(graph)
    degree = Counter(map(tuple, [*tails.tolist(), *heads.tolist()]))
    padded = np.pad(labels, 1)
    wanted = set()
    for (x, y), count in degree.items():
        square = padded[int(y) : int(y) + 2, int(x) : int(x) + 2]
        crosswise = square[0, 0] == square[1, 1] and square[0, 1] == square[1, 0]
        if count > 2 and not crosswise:
            wanted.add((x, y))
    assert {tuple(node) for node in graph.nodes.tolist()} == wanted
    met = Counter([*graph.tail[graph.tail >= 0].tolist(), *graph.head[graph.head >= 0].tolist()])
    assert all(met[node] >= 3 for node in range(len(graph.nodes)))


@given(maps)
def test_pieces_are_the_connected_areas_of_one_label(labels: np.ndarray) -> None:
    """Against scipy.ndimage.label; crosswise the larger label stays connected, the smaller does not."""
    graph = build_graph(labels)
    padded = np.pad(labels, 1)
    for label in np.unique(padded):
        names = {}
        for places, pieces, own in (
            (graph.left, graph.left_piece, graph.left_label),
            (graph.right, graph.right_piece, graph.right_label),
        ):
            mine = own[graph.arc_of] == label
            for place, piece in zip(places[mine].tolist(), pieces[graph.arc_of][mine].tolist(), strict=True):
                names.setdefault(tuple(place), set()).add(piece)
        four, _ = ndimage.label(padded == label)
        eight, _ = ndimage.label(padded == label, structure=np.ones((3, 3)))
        assert all(len(found) == 1 for found in names.values())
        for (x, y), (piece,) in names.items():
            for (other_x, other_y), (other,) in names.items():
                if four[y + 1, x + 1] == four[other_y + 1, other_x + 1]:
                    assert piece == other
                if eight[y + 1, x + 1] != eight[other_y + 1, other_x + 1]:
                    assert piece != other


@given(maps, st.data())
def test_a_graph_of_some_arcs_keeps_their_cracks_and_all_nodes(
    labels: np.ndarray, data: st.DataObject
) -> None:
    graph = build_graph(labels)
    count = len(graph.tail)
    arcs = np.array(
        data.draw(st.lists(st.integers(0, max(count - 1, 0)), unique=True, max_size=count)), np.int64
    )
    part, cracks = graph.only(arcs)
    assert (part.middle == graph.middle[cracks]).all()
    assert (graph.arc_of[cracks] == arcs[part.arc_of]).all()
    assert (part.left_label == graph.left_label[arcs]).all()
    assert len(part.nodes) == len(graph.nodes)


def test_the_larger_label_passes_through_a_chessboard_corner() -> None:
    """Two red pixels corner to corner on paper are one ring; the paper between them is two pieces' edge."""
    graph = build_graph(np.array([[1, 0], [0, 1]], np.uint8))
    assert (len(graph.tail), len(graph.nodes), graph.tail.tolist()) == (1, 0, [-1])
    assert len(graph.middle) == 8
