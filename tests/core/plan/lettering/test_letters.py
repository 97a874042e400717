"""What can be told of pieces that may be letters."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.plan.lettering.letters import _LEAST_SHARE, _MOST_SHARE, _MOST_STROKE, _moments, letters


def bar(long: float, wide: float, x: float = 0.0) -> shapely.Polygon:
    return shapely.box(x, 0, x + wide, long)


def test_pieces_too_small_or_too_large_for_letters_are_left_out() -> None:
    """A thin bar of length L has a radius of gyration of L / sqrt(12)."""
    size = 100.0
    kept = {
        share: len(letters([bar(share * size * 12**0.5, 0.05)], size).polygons)
        for share in (0.95 * _LEAST_SHARE, 1.05 * _LEAST_SHARE, 0.95 * _MOST_SHARE, 1.05 * _MOST_SHARE)
    }
    assert list(kept.values()) == [0, 1, 1, 0]


def test_pieces_too_stout_for_letters_are_left_out() -> None:
    size = 100.0
    disc, stout, slim = shapely.Point(0, 0).buffer(4, 64), bar(9, 6), bar(9, 3)
    strokes = [
        2 * one.area / one.length / np.sqrt(np.trace(_moments(np.array([one]))[2][0]))
        for one in (disc, stout, slim)
    ]
    found = letters([disc, stout, slim], size)
    assert [stroke <= _MOST_STROKE for stroke in strokes] == [
        one in found.polygons for one in (disc, stout, slim)
    ]
    assert disc not in found.polygons
    assert slim in found.polygons


def test_a_ring_and_a_hook_are_bent_and_a_bar_is_not() -> None:
    ring = shapely.Point(0, 0).buffer(4).difference(shapely.Point(0, 0).buffer(3))
    hook = shapely.union(shapely.box(0, 0, 1, 8), shapely.box(0, 0, 5, 1))
    found = letters([ring, hook, bar(8, 1, 20)], 100.0)
    assert found.bent.tolist() == [True, True, False]


@given(st.floats(0.5, 9), st.floats(0.5, 9), st.floats(-50, 50), st.floats(0, 180))
def test_moments_are_those_of_the_published_rectangle(
    wide: float, high: float, x: float, angle: float
) -> None:
    """Second moments of a rectangle by area are w^2 / 12 and h^2 / 12, whatever way it lies; those of a frame
    follow by subtraction."""
    outer = shapely.affinity.rotate(shapely.box(x, 0, x + wide, high), angle)
    area, middle, spread = _moments(np.array([outer]))
    assert area[0] == pytest.approx(wide * high)
    assert middle[0] == pytest.approx(shapely.get_coordinates(outer.centroid)[0])
    assert sorted(np.linalg.eigvalsh(spread[0])) == pytest.approx(
        sorted([wide**2 / 12, high**2 / 12]), rel=1e-6
    )
    inner = shapely.affinity.scale(outer, 0.5, 0.5)
    area, _, spread = _moments(np.array([outer.difference(inner)]))
    assert area[0] == pytest.approx(0.75 * wide * high)
    share = (1 - 0.5**4) / 0.75
    assert np.trace(spread[0]) == pytest.approx(share * (wide**2 + high**2) / 12, rel=1e-6)
