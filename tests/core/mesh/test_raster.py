"""Triangles painted into a grid of heights: highest, lowest, and what a solid fills."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.mesh import prism
from reliefsmith.mesh.raster import Nodes, _sum_of_distinct, painted

NODES = Nodes((-1.0, -1.0), 0.5, (13, 11))
X, Y = np.meshgrid(-1.0 + 0.5 * np.arange(13), -1.0 + 0.5 * np.arange(11))


@given(st.tuples(st.integers(-2, 6), st.integers(-2, 6)), st.integers(1, 8), st.integers(1, 8), st.booleans())
def test_a_prism_fills_its_height_over_its_polygon(
    corner: tuple[int, int], wide: int, high: int, slanted: bool
) -> None:
    """On the grid's own lines too, where sides and edges of triangles run along rows."""
    left, low = corner
    corners = np.array([(left, low), (left + wide, low), (left + wide, low + high), (left, low + high)]) / 2
    corners[2:, 0] += 0.35 * slanted
    plate, top = shapely.Polygon(corners.round(3)), 1.3
    mesh = prism(plate, 0.1, 0.1 + top)
    found = painted(mesh.vertices, mesh.triangles, NODES)
    points = shapely.points(np.column_stack([X.ravel(), Y.ravel()]))
    inside = shapely.covers(plate.buffer(1e-9), points).reshape(X.shape)
    assert (~np.isnan(found.highest) == inside).all()
    assert (~np.isnan(found.lowest) == inside).all()
    assert found.highest[inside] == pytest.approx(0.1 + top)
    assert found.lowest[inside] == pytest.approx(0.1)
    assert found.filled == pytest.approx(np.where(inside, top, 0.0), abs=2e-5)


def test_a_slope_is_painted_at_its_own_height() -> None:
    corners = np.array([(-1, -1, 0.0), (5, -1, 3.0), (-1, 4, 2.5), (5, 4, 5.5)])
    up = np.array([(0, 1, 3), (0, 3, 2)])
    found = painted(corners, up, NODES)
    assert found.highest == pytest.approx(0.5 * (X + 1) + 0.5 * (Y + 1))
    assert np.isnan(found.lowest).all()


def test_walls_paint_nothing() -> None:
    wall = np.array([(0, 0, 0.0), (3, 0, 0.0), (3, 0, 2.0), (0, 0, 2.0)])
    found = painted(wall, np.array([(0, 1, 2), (0, 2, 3)]), NODES)
    assert np.isnan(found.highest).all()
    assert (found.filled == 0).all()


def test_what_lies_in_two_bodies_above_each_other_is_added() -> None:
    low, high = prism(shapely.box(0, 0, 3, 3), 0.0, 1.0), prism(shapely.box(1, 1, 2, 2), 2.0, 2.5)
    vertices = np.concatenate([low.vertices, high.vertices])
    found = painted(vertices, np.concatenate([low.triangles, high.triangles + len(low.vertices)]), NODES)
    row, column = int((1.5 + 1) / 0.5), int((1.5 + 1) / 0.5)
    assert found.filled[row, column] == pytest.approx(1.5)
    assert (found.highest[row, column], found.lowest[row, column]) == (2.5, 0.0)
    assert found.filled[int((0.5 + 1) / 0.5), column] == pytest.approx(1.0)


@pytest.mark.parametrize("corners", [[(0, 0), (3, 0), (1.5, 1e-3)], [(0, 0), (3, 1e-3), (-1, 1.2e-3)]])
@pytest.mark.parametrize("off_mm", [2e-8, -2e-8])
def test_a_sliver_that_a_row_meets_within_rounding_is_painted(
    corners: list[tuple[float, float]], off_mm: float
) -> None:
    vertices = np.array([(x, y + off_mm, 1.0) for x, y in corners])
    found = painted(vertices, np.array([(0, 1, 2)]), NODES)
    assert found.highest[2, 2] == pytest.approx(1.0)
    assert np.nanmax(found.highest) == pytest.approx(1.0)
    assert np.isnan(found.highest[[0, 1, 3, 4]]).all()


def test_two_triangles_that_share_a_node_count_once_and_two_surfaces_twice() -> None:
    """Heights are told apart from three hundredths of a micrometer on: rounding is less."""
    for apart, total in ((0.0, 1.0), (0.00001, 1.0), (0.00003, 2.00003), (0.5, 2.5)):
        place = np.array([2, 2, 0])
        sums = _sum_of_distinct(place, np.array([1.0, 1.0 + apart, 7.0]), 3)
        assert sums == pytest.approx([7.0, 0.0, total], abs=1e-9)
