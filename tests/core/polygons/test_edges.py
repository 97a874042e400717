"""Edges that polygons share, against overlays of each with each by shapely."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.polygons import longest_neighbor, noded_coverage, shared_lengths
from reliefsmith.polygons.edges import rim_edges

from .shapes import colored

RING = shapely.box(0, 0, 6, 6) - shapely.box(2, 2, 4, 4)
CORE = shapely.box(2, 2, 4, 4)


@settings(max_examples=25)
@given(colored())
def test_lengths_are_those_that_overlays_find(areas: list[shapely.MultiPolygon]) -> None:
    coverage = noded_coverage(areas)
    wanted = {
        (a, b): coverage[a].boundary.intersection(coverage[b].boundary).length
        for a, b in itertools.combinations(range(len(coverage)), 2)
    }
    found = {(int(a), int(b)): length for a, b, length in shared_lengths(coverage)}
    assert list(found) == sorted(found)
    assert found == pytest.approx({pair: length for pair, length in wanted.items() if length})


@settings(max_examples=25)
@given(colored())
def test_the_rim_is_the_boundary_of_all_together(areas: list[shapely.MultiPolygon]) -> None:
    coverage = noded_coverage(areas)
    ends, owner = rim_edges(coverage)
    assert owner.tolist() == sorted(owner)
    lines = shapely.linestrings(ends)
    assert shapely.union_all(lines).equals(shapely.union_all(coverage).boundary)
    assert all(coverage[o].boundary.covers(line) for o, line in zip(owner, lines, strict=True))
    assert len({tuple(sorted(map(tuple, pair))) for pair in ends.tolist()}) == len(ends)


def test_an_opening_counts_as_much_as_an_outline_and_a_corner_not_at_all() -> None:
    assert shared_lengths([CORE, RING]).tolist() == [[0, 1, 8]]
    assert shared_lengths([CORE, shapely.box(4, 4, 5, 5)]).shape == (0, 3)
    assert shared_lengths([]).shape == (0, 3)
    ends, owner = rim_edges([CORE, RING])
    assert owner.tolist() == [1] * 4
    assert np.abs(ends[:, 0] - ends[:, 1]).max(axis=1).tolist() == [6] * 4


def test_a_piece_does_not_neighbor_itself() -> None:
    """Two parts of one entry that share an edge, as letters of one color would."""
    both = shapely.GeometryCollection([shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)])
    assert shared_lengths([both, shapely.box(0, 1, 1, 2)]).tolist() == [[0, 1, 1]]


def test_lengths_along_a_slope_are_those_of_pythagoras() -> None:
    low, high = shapely.Polygon([(0, 0), (3, 0), (3, 4)]), shapely.Polygon([(0, 0), (3, 4), (0, 4)])
    assert shared_lengths([low, high]).tolist() == [[0, 1, 5]]


def test_the_longest_neighbor_is_found_from_either_side_and_the_first_of_equals() -> None:
    table = np.array([[0, 1, 2.0], [0, 3, 4.0], [1, 2, 4.0], [2, 3, 4.0]])
    assert [longest_neighbor(table, owner) for owner in range(5)] == [3, 2, 1, 0, None]
