"""Voronoi ridges are those of another library."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import Voronoi

from reliefsmith.plan.strokes.voronoi import packed, ridges_within


def points(seed: int, count: int) -> np.ndarray:
    drawn = np.round(np.random.default_rng(seed).uniform(0, 30, (count, 2)), 6)
    return np.unique(drawn, axis=0)


def ridges(sites: np.ndarray, reach: float) -> set:
    """Return the pairs of sites that ridges part."""
    pairs = [
        tuple(sorted((tuple(one), tuple(other))))
        for one, other in np.round(ridges_within(sites, reach).sites, 6).tolist()
    ]
    assert len(pairs) == len(set(pairs))
    return set(pairs)


@given(st.integers(0, 2**32 - 1), st.integers(30, 120))
def test_ridges_are_those_of_another_library(seed: int, count: int) -> None:
    """Qhull's diagram: its ridges with both ends nearer to their sites than the reach."""
    sites = points(seed, count)
    found = ridges(sites, 3.0)
    other = Voronoi(sites)
    expected = set()
    for (one, two), vertices in other.ridge_dict.items():
        if min(vertices) < 0:
            continue
        ends = other.vertices[vertices]
        if np.hypot(*(ends - sites[one]).T).max() < 3.0 - 1e-4:
            expected.add(tuple(sorted((tuple(sites[one].tolist()), tuple(sites[two].tolist())))))
    assert expected <= found
    assert len(found) <= len(expected) + 0.02 * count + 2


@given(st.integers(0, 2**32 - 1))
def test_packed_points_sort_as_points_do(seed: int) -> None:
    sites = points(seed, 50) - 15.0
    keys = packed(sites, sites)
    assert (np.argsort(keys) == np.lexsort(sites.T[::-1])).all()
    assert len(set(keys.tolist())) == len(sites)
