"""Hand-changed solids follow the heights of their part."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.mesh import follow, ground_of, levels_of

BEFORE, AFTER = [0.0, 2.0, 2.6], [0.0, 3.6, 4.6]


def heights(*z: float) -> np.ndarray:
    return np.array([[1.0, 2.0, value] for value in z])


def test_what_is_near_a_level_keeps_its_distance_from_it() -> None:
    moved = follow(heights(2.6, 3.1, 2.5, 2.0, 1.8, 0.0, 0.4, -0.2), BEFORE, AFTER)
    np.testing.assert_allclose(moved[:, 2], [4.6, 5.1, 4.5, 3.6, 3.4, 0.0, 0.4, -0.2])
    np.testing.assert_array_equal(moved[:, :2], heights(*range(8))[:, :2])


@pytest.mark.parametrize("after", [AFTER, [0.0, 0.4, 0.5], [1.0, 9.0, 9.2]])
def test_order_is_kept_and_the_way_back_leads_back(after: list[float]) -> None:
    z = np.linspace(-0.5, 3.5, 401)
    there = follow(heights(*z), BEFORE, after)
    assert np.all(np.diff(there[:, 2]) > 0)
    np.testing.assert_allclose(follow(there, after, BEFORE)[:, 2], z, atol=1e-9)


def test_nothing_moves_with_levels_that_stay() -> None:
    z = heights(*np.linspace(-1, 4, 50))
    np.testing.assert_allclose(follow(z, BEFORE, BEFORE), z, atol=1e-12)


def test_the_ground_is_known_by_its_places_alone() -> None:
    corners = np.array([[0, 0, 0], [5, 0, 0], [0, 5, 0], [0, 0, 2.0], [5, 0, 2.0], [0, 5, 2.0]])
    higher = corners * (1, 1, 1.5)
    assert ground_of(corners) == ground_of(higher[::-1])
    assert ground_of(corners) != ground_of(corners + np.array([0.01, 0, 0]))
    assert levels_of(higher) == [0.0, 3.0]
