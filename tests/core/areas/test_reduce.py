"""Reduced chains: no point of the whole chain is farther from what is kept than the tolerance."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.reduce import keep_vertices

PLACES = st.tuples(st.integers(-40, 40), st.integers(-40, 40)).map(lambda at: (at[0] / 8, at[1] / 8))


def kept(points: np.ndarray, tolerance: float) -> np.ndarray:
    none = np.zeros(len(points), dtype=bool)
    return keep_vertices(points, np.array([0, len(points)]), np.array([tolerance]), none)


def test_a_chain_that_runs_past_its_end_and_back_keeps_its_turn() -> None:
    """The turn lies on the line through both ends, but 3 px beyond them."""
    line = np.array([[0.0, 0.0], [5.0, 0.0], [2.0, 0.0]])
    assert kept(line, 0.5).tolist() == [True, True, True]
    assert kept(line[::-1].copy(), 0.5).tolist() == [True, True, True]
    assert kept(np.array([[0.0, 0.0], [-4.0, 0.0], [2.0, 0.0]]), 0.5).tolist() == [True, True, True]


@given(points=st.lists(PLACES, min_size=2, max_size=14), tolerance=st.sampled_from([0.1, 0.7, 2.0]))
def test_no_point_is_farther_from_its_chord_than_the_tolerance(
    points: list[tuple[float, float]], tolerance: float
) -> None:
    chain = np.array(points)
    at = np.flatnonzero(kept(chain, tolerance))
    assert at[0] == 0
    assert at[-1] == len(chain) - 1
    for first, last in pairwise(at):
        chord = shapely.LineString(chain[[first, last]])
        assert shapely.distance(chord, shapely.points(chain[first : last + 1])).max() <= tolerance + 1e-9


@given(points=st.lists(PLACES, min_size=2, max_size=10), tolerance=st.sampled_from([0.4, 1.2, 3.0]))
def test_a_chain_that_ends_where_it_begins_keeps_what_is_farther_away(
    points: list[tuple[float, float]], tolerance: float
) -> None:
    chain = np.array([*points, points[0]])
    away = np.hypot(*(chain - chain[0]).T).max()
    assert (kept(chain, tolerance).sum() > 2) == (away > tolerance)
