from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.artwork.equations import solved


@given(st.integers(1, 6), st.integers(1, 6), st.integers(0, 2**32 - 1))
@settings(max_examples=60)
def test_the_solution_fulfills_every_equation(height: int, width: int, seed: int) -> None:
    n = height * width
    rng = np.random.default_rng(seed)
    factor = rng.normal(size=(n, n))
    matrix = factor @ factor.T + n * np.eye(n)  # symmetric, positive definite
    rows, columns = (index.ravel() for index in np.indices((n, n)))
    right = rng.normal(size=(height, width))
    x = solved(rows, columns, matrix.ravel(), right)
    np.testing.assert_allclose(matrix @ x.ravel(), right.ravel(), atol=1e-9 * max(1.0, abs(right).max()))


def test_repeated_entries_add_up() -> None:
    at = np.array([0, 0, 1])
    np.testing.assert_allclose(
        solved(at, at, np.array([1.0, 3.0, 2.0]), np.array([[8.0, 8.0]])), [[2.0, 4.0]]
    )


@pytest.mark.parametrize("n", [3, 40])
def test_a_hanging_line_is_straight(n: int) -> None:
    # Ends held at 0 and 1 by stiff springs, weak springs between: the exact solution is a straight line.
    inside = np.arange(n - 1)
    rows = np.concatenate([inside, inside + 1, inside, inside + 1, [0, n - 1]])
    columns = np.concatenate([inside, inside + 1, inside + 1, inside, [0, n - 1]])
    springs = np.ones(n - 1)
    values = np.concatenate([springs, springs, -springs, -springs, [1e6, 1e6]])
    right = np.zeros((1, n))
    right[0, -1] = 1e6
    np.testing.assert_allclose(solved(rows, columns, values, right)[0], np.linspace(0, 1, n), atol=1e-5)
