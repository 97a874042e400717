"""Numbers sunk into the backs of parts."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.division.partnumbers import (
    LEAST_NUMBER_MM,
    NUMBER_MM,
    _without_small_eyes,
    digits_in,
)
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe

LIMITS = Limits.of(Recipe().motif, Recipe().printer)


def test_a_number_is_as_high_as_wanted_where_there_is_room_and_lower_else() -> None:
    wide = digits_in(shapely.box(-30, -30, 30, 30), 7, LIMITS)
    assert wide.bounds[3] - wide.bounds[1] == pytest.approx(NUMBER_MM, rel=0.03)
    room = shapely.box(-30, -3, 30, 3)
    low = digits_in(room, 7, LIMITS)
    assert LEAST_NUMBER_MM <= low.bounds[3] - low.bounds[1] < 6.0
    assert shapely.covers(room, low)


def test_where_not_even_the_least_fits_there_is_none() -> None:
    assert digits_in(shapely.box(-30, -1, 30, 1), 7, LIMITS).is_empty
    assert digits_in(shapely.Polygon(), 7, LIMITS).is_empty


def test_a_number_reads_from_behind() -> None:
    """The bar of a seven lies on top, its foot left of the middle; mirrored, right of it."""
    seven = digits_in(shapely.box(-30, -30, 30, 30), 7, LIMITS)
    left, low, right, _ = seven.bounds
    foot = seven.intersection(shapely.box(left, low, right, low + 1.0)).centroid.x
    assert foot > (left + right) / 2


@pytest.mark.parametrize(
    ("wide", "high", "stays"), [(2.1, 2.1, True), (1.9, 1.9, False), (1.4, 6.0, False), (1.6, 6.0, True)]
)
def test_an_eye_that_would_come_loose_from_the_bed_is_filled(wide: float, high: float, stays: bool) -> None:
    """An eye of a sunk digit is an island of the first layer: 4 mm2 and 1.5 mm hold."""
    outer = shapely.box(-5, -5, 5, 5)
    digit = as_multi(outer.difference(shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)))
    assert _without_small_eyes(digit).area == pytest.approx(digit.area if stays else outer.area)
