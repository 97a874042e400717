"""Curves along polylines: within their bound both ways, end to end, on the grid."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from reliefsmith.formats.curves import CURVE_MM, curved, flattened
from reliefsmith.polygons import on_grid
from tiers import examples

from .alongcurves import FINE, assert_within


@examples(10, 30, st.integers(0, 2**32 - 1), st.integers(3, 80), st.floats(0.0, 1.0))
def test_any_polyline_stays_within_the_bound(seed: int, count: int, wild: float) -> None:
    """From a smooth spiral to a scribble, on the grid, steps of 0.05 to 3 mm."""
    rng = np.random.default_rng(seed)
    turns = np.cumsum(rng.normal(0.1, 0.02 + 2.0 * wild, count))
    steps = rng.uniform(0.05, 3.0, count)[:, None] * np.stack((np.cos(turns), np.sin(turns)), axis=1)
    points = np.cumsum(steps, axis=0).round(3)
    pieces = curved(points)
    assert_within(pieces, points)
    assert all(on_grid(shapely.MultiPoint(piece)) for piece in pieces)
    for one, other in pairwise(pieces):
        assert (one[-1] == other[0]).all()


@pytest.mark.parametrize(("turn", "is_corner"), [(36.0, False), (44.0, True)])
def test_a_turn_is_a_corner_from_forty_degrees_on(turn: float, is_corner: bool) -> None:
    """On both sides of a corner the chords stay straight; else a curve runs through."""
    ahead = np.radians(turn)
    points = np.array([(-0.05, 0), (0, 0), (0.05 * np.cos(ahead), 0.05 * np.sin(ahead))]).round(3)
    assert all(len(piece) == 2 for piece in curved(points)) is is_corner


def test_flattened_points_are_those_of_the_bernstein_polynomials() -> None:
    curve = np.array([(0, 0), (1, 3), (4, -2), (5, 1)], dtype=float)
    times = np.linspace(0, 1, 9)[:, None]
    rest = 1 - times
    weights = np.hstack([rest**3, 3 * times * rest**2, 3 * times**2 * rest, times**3])
    line = np.array([(5, 1), (7, 1)], dtype=float)
    assert np.allclose(flattened([curve, line], 8), np.vstack([weights @ curve, [(7, 1)]]))


@pytest.mark.parametrize("tolerance", [0.002, 0.05])
def test_a_wider_bound_takes_fewer_curves_and_each_holds_its_own(tolerance: float) -> None:
    turns = np.linspace(0, 4, 90)
    points = np.stack((turns * np.cos(3 * turns), turns * np.sin(3 * turns)), axis=1).round(3)
    pieces = curved(points, tolerance)
    line = shapely.LineString(points)
    assert shapely.distance(shapely.points(flattened(pieces, FINE)), line).max() <= tolerance
    assert (len(pieces) > len(curved(points))) is (tolerance < CURVE_MM)
