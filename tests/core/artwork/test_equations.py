from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.artwork.equations import solved, tied


@given(st.integers(1, 6), st.integers(1, 6), st.integers(0, 2**32 - 1))
@settings(max_examples=60)
def test_the_solution_fulfills_every_equation(height: int, width: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    slopes = rng.uniform(size=(max(height - 1, 0), width))
    ties = [(0, (-1.0, 1.0), slopes), (0, (1.0, -2.0, 1.0), 0.3), (1, (1.0, -2.0, 1.0), 0.7)]
    level, right = rng.uniform(0.5, 2.0, size=(height, width)), rng.normal(size=(height, width))
    x = solved(level, ties, right)
    np.testing.assert_allclose(level * x + tied(x, ties), right, atol=1e-9 * max(1.0, abs(right).max()))


def test_ties_pull_as_the_matrix_of_their_squares_does() -> None:
    rng = np.random.default_rng(3)
    x, slope = rng.normal(size=4), rng.uniform(size=3)
    steps, bends = np.diff(np.eye(4), axis=0), np.diff(np.eye(4), 2, axis=0)
    ties = [(1, (-1.0, 1.0), slope), (1, (1.0, -2.0, 1.0), 0.5)]
    wanted = (steps.T @ np.diag(slope) @ steps + 0.5 * bends.T @ bends) @ x
    np.testing.assert_allclose(tied(x[None], ties)[0], wanted, atol=1e-14)


@pytest.mark.parametrize("n", [3, 40])
def test_a_hanging_line_is_straight(n: int) -> None:
    # Ends held at 0 and 1 by stiff springs, weak springs between: the exact solution is a straight line.
    level, right = np.full((1, n), 1e-12), np.zeros((1, n))
    level[0, [0, -1]] = right[0, -1] = 1e6
    x = solved(level, [(1, (-1.0, 1.0), 1.0)], right)
    np.testing.assert_allclose(x[0], np.linspace(0, 1, n), atol=1e-5)
