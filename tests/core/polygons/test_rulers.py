"""Rulers: steps that are easily read, ticks that count from the origin."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.polygons.rulers import NUMBERED_RANK, ruler_step, ruler_ticks


@given(st.floats(0.001, 500) | st.integers(1, 500))
def test_a_step_is_one_two_or_five_of_a_power_of_ten_and_the_least_that_is_wide_enough(least: float) -> None:
    """Steps as on drawings and instruments: 1, 2, 5 and their tens (common practice, no source)."""
    steps = sorted(digit * 10**power for digit in (1, 2, 5) for power in range(3))
    assert ruler_step(least) == min(step for step in steps if step >= least)


def test_a_ruler_longer_than_all_has_the_widest_step() -> None:
    assert (ruler_step(500), ruler_step(500.1), ruler_step(1e6)) == (500, 500, 500)


@given(st.floats(-400, 400), st.floats(0, 400), st.sampled_from([1, 2, 5, 10, 50]))
def test_ticks_are_the_multiples_in_between_and_every_tenth_has_a_number(
    low: float, length: float, step: int
) -> None:
    ticks = dict(ruler_ticks(low, low + length, step))
    assert list(ticks) == [
        place for place in range(-1000, 1001) if low <= place <= low + length and place % step == 0
    ]
    assert {place for place, rank in ticks.items() if rank == NUMBERED_RANK} == {
        place for place in ticks if place % (10 * step) == 0
    }
    assert {place for place, rank in ticks.items() if rank == 1} == {
        place for place in ticks if place % (10 * step) == 5 * step
    }


@pytest.mark.parametrize("step", [1, 5])
def test_a_mirrored_ruler_has_the_mirrored_ticks(step: int) -> None:
    there = list(ruler_ticks(-37.5, 62, step))
    assert [(-place, rank) for place, rank in ruler_ticks(-62, 37.5, step)] == there[::-1]
    assert list(ruler_ticks(0, 0, step)) == [(0, NUMBERED_RANK)]
    assert list(ruler_ticks(0.1, 0.9, step)) == []
