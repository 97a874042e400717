"""A lattice inside a shape: which cells, and how each is cut in two."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.mesh.lattice import CLEAR, Lattice, lattice_cells
from reliefsmith.polygons import from_grid


def cells_of(lattice: Lattice) -> set[tuple[float, float]]:
    """Return the lower left corners of the cells in mm."""
    return {tuple(corner) for corner in from_grid(lattice.points)[lattice.cells[:, 0]].tolist()}


@given(st.integers(-6, 6), st.integers(-6, 6), st.integers(4, 12), st.integers(4, 12), st.integers(0, 3))
def test_cells_are_those_clear_of_the_boundary(x: int, y: int, wide: int, high: int, hole: int) -> None:
    plate = shapely.box(x, y, x + wide, y + high)
    if hole:
        middle = shapely.Point(x + wide / 2 + 0.13, y + high / 2 - 0.21)
        plate = plate.difference(middle.buffer(hole / 3, quad_segs=3))
    found = lattice_cells(plate, 1.0)
    inside = {
        (float(column), float(row))
        for column in range(x, x + wide)
        for row in range(y, y + high)
        if plate.buffer(-CLEAR, quad_segs=16)
        .buffer(1e-6)
        .contains(shapely.box(column, row, column + 1, row + 1))
    }
    assert cells_of(found) <= inside
    left_out = inside - cells_of(found)
    assert len(left_out) <= 4  # of two that touch at a corner one goes
    assert found.shape.area == pytest.approx(len(found.cells))


def test_an_opening_between_the_corners_of_a_cell_leaves_it_out() -> None:
    plate = shapely.box(-0.5, -0.5, 5.5, 5.5).difference(shapely.box(2.45, 2.45, 2.55, 2.55))
    assert cells_of(lattice_cells(plate, 1.0)) == {
        (float(x), float(y)) for x in range(5) for y in range(5) if (x, y) != (2, 2)
    }


def test_only_wanted_cells_are_taken_by_their_column_and_row() -> None:
    def wanted(columns: np.ndarray, rows: np.ndarray) -> np.ndarray:
        assert columns.tolist() == list(range(1, 9))
        assert rows.tolist() == list(range(1, 5))
        return (rows[:-1, None] == 2) & (columns[None, :-1] >= 5)

    assert cells_of(lattice_cells(shapely.box(0.5, 0.5, 8.5, 4.5), 1.0, wanted)) == {
        (5.0, 2.0),
        (6.0, 2.0),
        (7.0, 2.0),
    }


def test_a_shape_without_room_has_no_cells() -> None:
    for plate in (shapely.box(0, 0, 0.5, 9), shapely.box(0.1, 0.1, 1.7, 1.7)):
        found = lattice_cells(plate, 1.0)
        assert len(found.points) == len(found.cells) == 0
        assert found.shape.is_empty


def cuts(height: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> set[str]:
    """Return which ways the cells of a lattice are cut: "up" from lower left to upper right, or "down"."""
    lattice = lattice_cells(shapely.box(0.5, 0.5, 6.5, 6.5), 1.0)
    found = lattice.triangles(height(*from_grid(lattice.points).T))
    assert len(found) == 2 * len(lattice.cells)
    corners = from_grid(lattice.points)[found]
    (ux, uy), (vx, vy) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    assert ux * vy - uy * vx == pytest.approx(1.0)
    across = (np.roll(corners, -1, axis=1) - corners).prod(axis=2)  # 0 along a side of a cell
    return {"up" if value > 0 else "down" for value in across[across != 0]}


def test_cuts_run_along_slopes_of_equal_height() -> None:
    assert cuts(lambda x, y: x - y) == {"up"}
    assert cuts(lambda x, y: x + y) == {"down"}


def test_cuts_run_along_a_crest_and_along_a_valley_either_way() -> None:
    for sign in (1, -1):
        assert cuts(lambda x, y, sign=sign: -sign * np.abs(x - y)) == {"up"}
        assert cuts(lambda x, y, sign=sign: -sign * np.abs(x + y - 7)) == {"down"}
