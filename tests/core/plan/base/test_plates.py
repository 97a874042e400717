"""Plates under the whole artwork, and the spike of a piece that stands in soil."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.plan.base.plates import plate, with_spike
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections import BaseSettings

ART = as_multi(shapely.box(10, -20, 40, -4))


@pytest.mark.parametrize("shape", ["hull", "circle", "rectangle", "shield"])
@given(st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=4, max_size=8, unique=True))
def test_every_plate_holds_the_artwork_with_its_border(shape: str, corners: list[tuple[int, int]]) -> None:
    art = as_multi(shapely.MultiPoint(corners).convex_hull.buffer(0.5))
    made = plate(art, BaseSettings(shape=shape, border_mm=2.0))
    assert shapely.covers(made, art.buffer(1.98, 64))
    if shape == "circle":
        assert made.area == pytest.approx(np.pi * (shapely.minimum_bounding_radius(art) + 2.0) ** 2, rel=0.01)
    if shape == "hull":
        assert shapely.symmetric_difference(made, art.buffer(2.0, 64)).area < 0.01 * made.area


def test_a_circle_lies_round_the_middle_of_the_artwork() -> None:
    left, low, right, high = plate(ART, BaseSettings(shape="circle", border_mm=2.0)).bounds
    assert ((left + right) / 2, (low + high) / 2) == pytest.approx((25.0, -12.0), abs=0.01)
    assert right - left == pytest.approx(34 + 4, abs=0.05)


def test_a_spike_is_as_long_and_wide_as_asked_and_ends_in_a_round_tip() -> None:
    base = as_multi(shapely.box(-20, 0, 20, 30))
    made = with_spike(base, (50.0, 8.0))
    assert made.bounds == pytest.approx((-20, -50, 20, 30), abs=0.01)

    def width(y: float) -> float:
        left, _, right, _ = shapely.intersection(made, shapely.LineString([(-30, y), (30, y)])).bounds
        return right - left

    assert width(-20.0) == pytest.approx(8.0, abs=0.01)
    assert width(-50.0 + 2 * 8.0 + 0.5) == pytest.approx(8.0, abs=0.2)
    assert width(-48.0) < 4.0
    assert width(-0.1) > 8.5  # fillets
    assert shapely.covers(made, base)
    assert len(made.geoms) == 1


def test_a_spike_shorter_than_it_tapers_begins_at_the_base() -> None:
    made = with_spike(as_multi(shapely.box(-20, 0, 20, 30)), (10.0, 9.0))
    assert made.bounds[1] == pytest.approx(-10.0, abs=0.01)
    assert len(made.geoms) == 1


def test_a_spike_below_two_feet_is_rooted_in_the_lower_one() -> None:
    feet = as_multi([shapely.box(-20, 0, -10, 30), shapely.box(10, -5, 20, 30)])
    made = with_spike(feet, (40.0, 6.0))
    assert len(made.geoms) == 2
    assert made.bounds[1] == pytest.approx(-45.0, abs=0.01)
