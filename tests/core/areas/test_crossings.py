"""Where arcs meet although they should not: all such places are found, and no others."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.crossings import find_crossings
from reliefsmith.areas.shape import ArcLines

NODES = ((0.0, 0.0), (8.0, 0.0))


def between(*ways: tuple[tuple[float, float], ...]) -> tuple[ArcLines, np.ndarray, np.ndarray]:
    """Return arcs from the one node to the other over the points of each way."""
    lines = [np.array([NODES[0], *way, NODES[1]]) for way in ways]
    starts = np.concatenate(([0], np.cumsum([len(line) for line in lines])))
    return ArcLines(np.vstack(lines), starts), np.zeros(len(ways), np.int64), np.ones(len(ways), np.int64)


def test_arcs_that_share_both_ends_and_nothing_else_are_well() -> None:
    assert len(find_crossings(*between(((4.0, 1.0),), ()))) == 0


def test_two_straight_arcs_between_the_same_nodes_lie_on_each_other() -> None:
    """Their one segment has both ends shared, so no end tells them apart: nothing lies between."""
    places = find_crossings(*between((), ()))
    assert len(places) == 1
    assert places[0].tolist() == [4.0, 0.0]


def test_arcs_that_leave_a_node_on_each_other_are_found() -> None:
    assert len(find_crossings(*between(((4.0, 0.0), (6.0, 2.0)), ((3.0, 0.0), (6.0, -2.0))))) > 0


def test_arcs_that_cross_are_found_where_they_do() -> None:
    places = find_crossings(*between(((3.0, 2.0), (5.0, -2.0)), ()))
    np.testing.assert_allclose(places, [[4.0, 0.0]])


def test_of_chosen_arcs_every_meeting_is_found_and_of_others_none() -> None:
    """The first two cross each other, the third crosses none."""
    lines, tail, head = between(((3.0, 2.0), (5.0, -2.0)), (), ((4.0, 6.0),))
    for arcs, count in (([0], 1), ([1], 1), ([2], 0), ([0, 1], 1), ([0, 1, 2], 1)):
        assert len(find_crossings(lines, tail, head, np.array(arcs))) == count


STEPS = st.tuples(st.integers(1, 7), st.integers(-4, 4)).map(lambda at: (float(at[0]), float(at[1])))


@given(st.lists(st.lists(STEPS, max_size=4, unique=True).map(tuple), min_size=2, max_size=3))
def test_arcs_are_found_to_meet_just_where_any_two_segments_do(
    ways: list[tuple[tuple[float, float], ...]],
) -> None:
    lines, tail, head = between(*ways)
    segments = [
        (arc, place, lines.points[at], lines.points[at + 1])
        for arc, (first, last) in enumerate(zip(lines.starts[:-1], lines.starts[1:], strict=True))
        for place, at in enumerate(range(first, last - 1))
    ]
    met = any(_meet(one, other) for at, one in enumerate(segments) for other in segments[at + 1 :])
    assert (len(find_crossings(lines, tail, head)) > 0) == met


def _meet(one: tuple, other: tuple) -> bool:
    """Whether two segments share more than an end that they have in common; by whole numbers."""
    (arc, place, a, b), (its, after, c, d) = one, other
    shared = {tuple(a), tuple(b)} & {tuple(c), tuple(d)}
    neighbors = arc == its and after == place + 1
    at_node = arc != its and (shared <= set(NODES))
    if not (neighbors or at_node) or not shared:
        return _touch(a, b, c, d)
    if len(shared) > 1:
        return True
    (pivot,) = shared
    far = [np.subtract(y if tuple(x) == pivot else x, pivot) for x, y in ((a, b), (c, d))]
    return bool(far[0][0] * far[1][1] == far[0][1] * far[1][0] and far[0] @ far[1] > 0)


def _touch(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> bool:
    def side(p: np.ndarray, q: np.ndarray, r: np.ndarray) -> float:
        return float(np.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])))

    def on(p: np.ndarray, q: np.ndarray, r: np.ndarray) -> bool:
        return bool((np.minimum(p, q) <= r).all() and (r <= np.maximum(p, q)).all())

    turns = side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    tested = ((a, b, c, turns[0]), (a, b, d, turns[1]), (c, d, a, turns[2]), (c, d, b, turns[3]))
    return any(turn == 0 and on(p, q, r) for p, q, r, turn in tested)


def test_of_no_arcs_there_is_no_place_but_the_shape_of_places() -> None:
    lines, tail, head = between(((3.0, 2.0), (5.0, -2.0)), ())
    assert find_crossings(lines, tail, head, np.empty(0, np.int64)).shape == (0, 2)
