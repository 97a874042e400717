"""Restraint: the last resort, the middles of the cracks, is reached exactly and never crosses itself."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from exactart import picture_of_labels
from reliefsmith.areas.crossings import find_crossings
from reliefsmith.areas.graph import build_graph
from reliefsmith.areas.shape import LIMITED_MOVE, Grade, Restraint, shape_arcs
from reliefsmith.areas.smooth import Window
from reliefsmith.areas.subpixel import CrackPoints

GRADE = Grade(Window(5, 2.6), 0.06)
MAPS = hnp.arrays(np.uint8, (7, 9), elements=st.integers(0, 3)).filter(lambda labels: labels.any())


def shaped(labels: np.ndarray, level: int, seed: int = 0):
    """Shape arcs whose points were located up to 1.4 px off their cracks, all restrained alike."""
    graph = build_graph(picture_of_labels(labels)[1].labels)
    count = len(graph.middle)
    shift = np.random.default_rng(seed).uniform(-1.0, 1.0, (count, 2))
    located = CrackPoints(graph.middle + shift, np.ones(count), np.zeros(count, dtype=bool))
    restraint = Restraint(np.full(count, level, np.int8), np.full(len(graph.nodes), 2 * (level > 1), np.int8))
    lines, nodes = shape_arcs(graph, located, GRADE, restraint)
    return graph, lines, nodes


@given(labels=MAPS, seed=st.integers(0, 99))
def test_wholly_restrained_arcs_are_the_middles_of_their_cracks_and_cross_nowhere(labels, seed) -> None:
    graph, lines, nodes = shaped(labels, 2, seed)
    np.testing.assert_array_equal(nodes, graph.nodes)
    allowed = {tuple(point) for point in np.vstack((graph.middle, graph.nodes)).tolist()}
    assert {tuple(point) for point in lines.points.tolist()} <= allowed
    assert len(find_crossings(lines, graph.tail, graph.head)) == 0


@given(labels=MAPS, seed=st.integers(0, 99))
def test_once_restrained_arcs_stay_near_the_middles_and_keep_every_point(labels, seed) -> None:
    graph, lines, _ = shaped(labels, 1, seed)
    own = {tuple(point) for point in np.round(lines.points, 9).tolist()}
    for middle in graph.middle:
        assert any(
            abs(x - middle[0]) <= LIMITED_MOVE + 1e-9 and abs(y - middle[1]) <= LIMITED_MOVE + 1e-9
            for x, y in own
        )
