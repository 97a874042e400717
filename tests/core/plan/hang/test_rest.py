from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from reliefsmith.plan.hang.hardware import Hardware, hardware_table
from reliefsmith.plan.hang.rest import _rise, stable_rests

WIRE = Hardware("wire", "wire", wire_mm=1.0, turns=1, play_mm=0.2, reach_mm=50, price=0)


def test_in_a_round_opening_the_ring_rests_opposite_to_the_mass():
    (rest,) = stable_rests(shapely.Point(3, 4).buffer(2, 64), (0.0, 0.0), WIRE)
    assert rest.contact == pytest.approx((3 + 2 * 0.6, 4 + 2 * 0.8), abs=0.06)
    assert rest.angle == pytest.approx(math.degrees(math.atan2(3, 4)), abs=1.0)
    assert rest.passes == pytest.approx(4, abs=0.01)


def test_an_opening_centered_on_the_mass_is_neutral_and_no_place_to_hang():
    assert stable_rests(shapely.Point(0, 0).buffer(6, 64), (0.0, 0.0), WIRE) == []


def test_in_a_wide_slot_the_ring_slides_to_either_end():
    """Mass 2 below a slot from -8 to 8: the ends are farther from it than the middle, so both are stable."""
    slot = shapely.box(-8, 0, 8, 3)
    rests = stable_rests(slot, (0.0, -2.0), WIRE)
    assert sorted(round(rest.center[0], 1) for rest in rests) == [-7.5, 7.5]
    assert all(rest.center[1] == pytest.approx(2.5) for rest in rests)
    expected = math.degrees(math.atan2(7.5, 4.5))
    assert [rest.angle for rest in rests] == pytest.approx([expected, expected], abs=0.01)


def test_in_a_pointed_opening_the_ring_rests_under_the_point():
    roof = shapely.Polygon([(-4, 0), (4, 0), (0, 6)])
    best = stable_rests(roof, (0.0, -10.0), WIRE)[0]
    assert best.center[0] == pytest.approx(0, abs=0.01)
    # The bar's center stays its radius away from both sides: 0.5 / sin(half angle) under the tip.
    half = math.atan2(4, 6)
    assert best.center[1] == pytest.approx(6 - 0.5 / math.sin(half), abs=0.01)


def test_hardware_that_does_not_pass_has_no_rest():
    assert stable_rests(shapely.Point(0, 9).buffer(1.5), (0.0, 0.0), hardware_table()[0]) == []


@given(st.lists(st.integers(0, 6), min_size=3, max_size=12), st.integers(0, 11))
def test_a_peak_rises_above_the_higher_of_its_two_ways_to_a_higher_one(heights: list[int], at: int) -> None:
    """Walked step by step, round a closed profile; from the highest to the lowest place."""
    count, peak = len(heights), at % len(heights)
    assume(heights[peak - 1] < heights[peak] >= heights[(peak + 1) % count])
    lows = []
    for way in (1, -1):
        low, here = heights[peak], peak
        for _ in range(count):
            here = (here + way) % count
            low = min(low, heights[here])
            if heights[here] > heights[peak]:
                break
        lows.append(low)
    is_highest = heights[peak] == max(heights)
    expected = heights[peak] - (min(heights) if is_highest else max(lows))
    assert _rise(np.array(heights, np.float64), peak) == expected
