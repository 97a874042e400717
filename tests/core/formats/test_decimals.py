"""Millimetres as decimal text: Python's own decimal arithmetic is the reference."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats.decimals import ROWS_AT_ONCE, exact_mm, filled, mm_text, snapped_mm

MICROMETRES = st.integers(-5_000_000, 5_000_000)


@given(MICROMETRES)
def test_text_is_the_exact_decimal_without_needless_zeros(um: int) -> None:
    text = mm_text(um / 1000)
    assert Decimal(text) == Decimal(um) / 1000
    assert not ("." in text and text.endswith(("0", ".")))
    assert "e" not in text
    assert text != "-0"


@given(st.lists(MICROMETRES, min_size=1, max_size=20), st.floats(-1e-10, 1e-10))
def test_noise_of_arithmetic_is_taken_off(um: list[int], noise: float) -> None:
    values = np.array(um) / 1000
    np.testing.assert_array_equal(exact_mm(values + noise), values)


@given(st.lists(st.integers(-(10**9), 10**9), min_size=1, max_size=20))
def test_points_off_the_grid_keep_their_nanometres(nm: list[int]) -> None:
    values = np.array(nm) / 1e6
    np.testing.assert_array_equal(exact_mm(values), values)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_what_is_no_number_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        exact_mm(np.array([0.0, bad]))


@pytest.mark.parametrize("count", [1, ROWS_AT_ONCE - 1, ROWS_AT_ONCE, ROWS_AT_ONCE + 1, 2 * ROWS_AT_ONCE])
def test_rows_are_filled_in_order_whatever_their_count(count: int) -> None:
    rows = np.arange(2 * count).reshape(count, 2)
    assert filled("%d,%d ", rows) == "".join(f"{2 * i},{2 * i + 1} " for i in range(count))
    assert filled("%r,%r ", rows / 2) == "".join(f"{i},{i}.5 " for i in range(count))


def test_no_rows_give_no_text() -> None:
    assert filled("%r,%r ", np.zeros((0, 2))) == ""


def test_rows_of_other_numbers_are_filled_as_they_are() -> None:
    assert filled('<t a="%d" b="%d"/>', np.array([[10, 20]])) == '<t a="10" b="20"/>'
    assert filled("%r,%r %r ", np.array([[1.0, 10.05, -2.0]])) == "1,10.05 -2 "


@settings(max_examples=30)
@given(st.lists(st.integers(-(10**8), 10**8), min_size=1, max_size=20))
def test_single_precision_is_snapped_within_its_noise_and_not_within_less(um: list[int]) -> None:
    """A float32 of up to 100 m in mm is off by at most 2^-24 of itself: 6 um there, less below."""
    values = np.array(um) / 1000
    single = values.astype(np.float32).astype(float)
    noise = np.abs(single - values).max() * 1000
    if noise < 0.4:
        np.testing.assert_array_equal(snapped_mm(single, noise * 1.001 + 1e-6), values)
    if 0.01 < noise < 0.4:
        assert snapped_mm(single, noise * 0.99) is None


def test_no_values_are_on_the_grid() -> None:
    assert exact_mm(np.zeros((0, 2))).shape == (0, 2)


@pytest.mark.parametrize("value", [1e-6, -3e-6, 1000.000002])
def test_a_nanometre_off_the_grid_is_meant(value: float) -> None:
    assert exact_mm(np.array([value, 1.0])).tolist() == [value, 1.0]


@pytest.mark.parametrize("other", [0.5, 0.00025])
def test_there_is_no_zero_below_zero(other: float) -> None:
    assert not np.signbit(exact_mm(np.array([-0.0, -1e-13, other]))).any()
