"""Heights by brightness: smoothed, no steeper than asked, nothing narrower than a bead."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from reliefsmith.solid.brightness import _opened, _sloped, _smoothed

fields = hnp.arrays(
    np.float64, hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9), elements=st.floats(0, 2)
)


@given(fields, st.floats(0.05, 0.5))
def test_slopes_are_no_steeper_than_asked_and_as_high_as_that_allows(
    values: np.ndarray, steepest: float
) -> None:
    """The highest such surface: at each node the least of all values, each raised by its way in steps along
    rows, columns and diagonals."""
    found = _sloped(values, steepest)
    row, column = np.indices(values.shape)
    down = np.abs(row[..., None, None] - row)
    right = np.abs(column[..., None, None] - column)
    way = np.abs(down - right) + math.sqrt(2) * np.minimum(down, right)
    assert found == pytest.approx((values + steepest * way).min(axis=(2, 3)), abs=1e-6)


@given(fields)
def test_what_is_narrower_than_two_points_each_way_is_lowered_and_no_more(values: np.ndarray) -> None:
    """The highest surface below on which a square of two by two points lies everywhere."""
    found = _opened(values)
    rows, columns = values.shape
    expected = np.full(values.shape, -np.inf)
    for row in range(-1, rows):
        for column in range(-1, columns):
            square = (slice(max(row, 0), row + 2), slice(max(column, 0), column + 2))
            expected[square] = np.maximum(expected[square], values[square].min())
    if rows > 1 and columns > 1:
        inner = (slice(1, -1), slice(1, -1))
        assert found[inner] == pytest.approx(expected[inner])
    assert (found <= values + 1e-12).all()


def test_smoothing_weighs_a_value_twice_as_much_as_either_neighbor() -> None:
    one = np.zeros((5, 5))
    one[2, 2] = 16.0
    assert _smoothed(one)[1:4, 1:4].tolist() == [[1, 2, 1], [2, 4, 2], [1, 2, 1]]
    assert _smoothed(np.ones((3, 3)))[0].tolist() == [9 / 16, 12 / 16, 9 / 16]
