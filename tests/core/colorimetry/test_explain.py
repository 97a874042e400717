"""Lines between colors: the part of the second, and what is left open."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.colorimetry.explain import dot, from_triangle, left_open, mixed

COLOR = st.tuples(*[st.integers(0, 255)] * 3).map(lambda color: np.array(color, dtype=np.float64))
PART = st.floats(0.0, 1.0)


@given(COLOR, COLOR, PART)
def test_a_mix_is_explained_by_its_part(one: np.ndarray, other: np.ndarray, part: float) -> None:
    found, rest = mixed(one + part * (other - one), one, other)
    np.testing.assert_allclose(rest, 0.0, atol=1e-6)
    if (one != other).any():
        assert found == pytest.approx(part, abs=1e-6)


@given(COLOR, COLOR, COLOR)
def test_what_is_open_stands_at_right_angles_to_the_line_or_beyond_its_ends(
    value: np.ndarray, one: np.ndarray, other: np.ndarray
) -> None:
    part, rest = mixed(value, one, other)
    along = float(dot(rest, other - one))
    assert 0.0 <= part <= 1.0
    if part == 0.0:
        assert along <= 1e-6
    elif part == 1.0:
        assert along >= -1e-6
    else:
        assert along == pytest.approx(0.0, abs=1e-6)


@given(COLOR, COLOR, COLOR)
def test_a_longer_line_never_leaves_more_open(value: np.ndarray, one: np.ndarray, other: np.ndarray) -> None:
    left = [
        float(dot(rest, rest))
        for _, rest in (mixed(value, one, other, under=more, over=more) for more in (0.0, 0.25, np.inf))
    ]
    assert left[0] >= left[1] - 1e-6
    assert left[1] >= left[2] - 1e-6


def test_many_values_and_colors_are_explained_at_once_and_stay_as_exact_as_they_were() -> None:
    random = np.random.default_rng(3)
    values, one, other = (random.uniform(0, 255, (4, 50)).astype(np.float32) for _ in range(3))
    over = random.uniform(-0.5, 0.5, 50).astype(np.float32)
    part, rest = mixed(values, one, other, over=over)
    assert part.dtype == rest.dtype == np.float32
    for k in range(50):
        alone, left = mixed(values[:, k], one[:, k], other[:, k], over=float(over[k]))
        assert part[k] == alone
        np.testing.assert_array_equal(rest[:, k], left)


@given(COLOR, COLOR, COLOR, st.tuples(PART, PART), st.floats(0.0, 50.0))
def test_the_distance_from_a_triangle_is_along_its_normal(
    one: np.ndarray, two: np.ndarray, three: np.ndarray, at: tuple[float, float], away: float
) -> None:
    normal = np.cross(two - one, three - one)
    length = float(np.sqrt(dot(normal, normal)))
    if length < 100.0:
        return
    first, second = 0.1 + 0.4 * at[0], 0.1 + 0.4 * at[1] * 0.9
    inside = one + first * (two - one) + second * (three - one)
    value = inside + normal * (away / length)
    assert from_triangle(value, one, two, three) == pytest.approx(away, abs=1e-6)
    assert from_triangle(one + two - three, one, two, three) == np.inf


def opened(
    value: tuple, colors: list[tuple], *, calm: bool = False, apart: bool = False, near: int = 0
) -> float:
    """Return what colors, all of them near if not told which, leave open of one value at a noise of 4."""
    bits = np.array([near or (1 << len(colors)) - 1], dtype=np.uint16)
    found = left_open(
        np.array(value, dtype=np.float64)[:, None],
        bits,
        np.array([calm]),
        np.array(colors, dtype=np.float64).T,
        noise=np.full(1, 4.0),
        most=36.0,
        apart=apart,
    )
    return float(found[0])


def test_what_is_left_open_is_counted_in_squares_of_noise() -> None:
    one, other = (0, 0, 0), (100, 0, 0)
    assert opened((50, 8, 0), [one, other]) == pytest.approx(4.0)
    assert opened((50, 8, 0), [one, other], near=1) == 36.0  # the other is not near
    assert opened((0, 8, 0), [one, other], near=1) == pytest.approx(4.0)
    assert opened((50, 8, 0), [one, other], calm=True) == 36.0  # what is calm does not mix
    assert opened((108, 0, 0), [one, other], calm=True) == pytest.approx(4.0)
    assert opened((50, 200, 0), [one, other]) == 36.0


def test_luma_and_chroma_pass_an_edge_apart_and_overshoot() -> None:
    dark, light = (0, 0, 0), (100, 40, 0)
    assert opened((90, 8, 0), [dark, light]) > 20.0
    assert opened((90, 8, 0), [dark, light], apart=True) == pytest.approx(0.0, abs=1e-9)
    assert opened((110, 50, 0), [dark, light], apart=True) == pytest.approx(0.0, abs=1e-9)
    assert opened((133, 50, 0), [dark, light], apart=True) == pytest.approx(4.0)
    assert opened((110, 58, 0), [dark, light], apart=True) == pytest.approx(4.0)
