"""Vertices on straight lines put back into triangulations that skip them: every edge once each way."""

from __future__ import annotations

from collections import Counter

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.mesh.dropped import with_dropped


def _area2(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    return (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]


def _edges(triangles: np.ndarray) -> Counter:
    return Counter((int(t[k]), int(t[(k + 1) % 3])) for t in triangles for k in range(3))


@given(st.lists(st.lists(st.integers(1, 19), unique=True, max_size=5), min_size=4, max_size=4))
def test_all_vertices_of_a_square_are_used_and_its_area_stays(sides: list[list[int]]) -> None:
    """Two triangles of the four corners; vertices by lot along each side."""
    corners = [(0, 0), (20, 0), (20, 20), (0, 20)]
    ring, at = [], []
    for side, extra in enumerate(sides):
        at.append(len(ring))
        (x0, y0), (x1, y1) = corners[side], corners[(side + 1) % 4]
        along = [0, *sorted(extra)]
        ring += [(x0 + (x1 - x0) * k // 20, y0 + (y1 - y0) * k // 20) for k in along]
    points = np.array(ring, dtype=np.int64)
    following = np.roll(np.arange(len(ring)), -1)
    found = with_dropped(points, following, np.array([[at[0], at[1], at[2]], [at[0], at[2], at[3]]]))
    areas = _area2(points, found)
    assert (areas > 0).all()
    assert areas.sum() == 2 * 400
    assert len(found) == len(ring) - 2
    edges = _edges(found)
    assert max(edges.values()) == 1
    outside = {edge for edge in edges if edge[::-1] not in edges}
    assert outside == set(enumerate(following.tolist()))


def test_a_vertex_on_the_line_between_two_triangles_is_put_into_both() -> None:
    """Two holes' worth of points on a diagonal: the long edge on one side, two short ones on the other."""
    points = np.array([[0, 0], [8, 0], [8, 8], [0, 8], [4, 4]])
    # A ring that passes the middle twice is cut into a pair: the lower triangle skipped the middle.
    triangles = np.array([[0, 1, 2], [0, 4, 3], [4, 2, 3]])
    found = with_dropped(points, np.array([1, 2, 3, 0, 4]), triangles)
    assert _edges(found)[0, 4] == 1
    assert _edges(found)[4, 0] == 1
    assert _area2(points, found).sum() == 128
    assert len(found) == 4


def test_a_whole_triangulation_stays_as_it_is() -> None:
    points = np.array([[0, 0], [5, 0], [5, 5], [0, 5]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    assert (with_dropped(points, np.array([1, 2, 3, 0]), triangles) == triangles).all()


def test_a_point_beside_the_line_is_not_taken_for_one_on_it() -> None:
    """The ring bulges: nothing on the straight line fills the gap, which is left for the other engine."""
    points = np.array([[0, 0], [4, -1], [8, 0], [4, 8]])
    triangles = np.array([[0, 2, 3]])
    assert (with_dropped(points, np.array([1, 2, 3, 0]), triangles) == triangles).all()
