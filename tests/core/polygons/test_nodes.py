"""Nodes of a lattice within a shape: just as the full relation of every node with it says."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.polygons import nodes_within


def _shape(lot: np.random.Generator) -> shapely.Geometry:
    """Stars, slits, holes, slivers thinner than a step, pieces beyond the lattice."""
    stars = []
    for _ in range(lot.integers(1, 6)):
        middle, turns = lot.uniform(-6, 6, 2), np.sort(lot.uniform(0, 2 * np.pi, lot.integers(3, 30)))
        radii = lot.uniform(0.05, 4, len(turns))
        star = shapely.Polygon(middle + radii[:, None] * np.column_stack([np.cos(turns), np.sin(turns)]))
        stars.append(shapely.make_valid(star))
    slit = shapely.box(-9, *np.sort(lot.uniform(-1, 1, 1)), 9, 1.01)
    return shapely.union_all(stars) - slit.buffer(lot.uniform(0.001, 0.1))


@pytest.mark.parametrize("seed", range(40))
def test_every_node_is_told_as_its_relation_with_the_shape(seed: int) -> None:
    lot = np.random.default_rng(seed)
    step = float(lot.choice([0.05, 0.1, 0.3, 1.0]))
    low, high = np.floor(lot.uniform(-8, -2, 2) / step), np.ceil(lot.uniform(2, 8, 2) / step)
    x, y = (np.arange(low[k], high[k]) * step for k in (0, 1))
    shape = _shape(lot)
    points = shapely.points(*np.meshgrid(x, y))
    asked = shapely.relate_pattern(shape, points, "0********")  # the point lies in the inside
    np.testing.assert_array_equal(nodes_within(shape, x, y), asked)


def test_nodes_on_the_boundary_are_not_within() -> None:
    x = np.arange(-20.0, 21.0)
    found = nodes_within(shapely.box(-10, -10, 10, 10) - shapely.box(-2, -2, 2, 2), x, x)
    assert found.sum() == 19 * 19 - 5 * 5
