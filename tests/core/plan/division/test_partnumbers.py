"""Numbers sunk into the backs of parts."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.division.partnumbers import (
    LEAST_NUMBER_MM,
    NUMBER_MM,
    digits_in,
)
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import openings
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


def test_no_eye_of_a_number_is_an_island_on_the_bed() -> None:
    """A sunk 8 has two eyes; of a low one neither stays on the bed by itself."""
    assert openings(digits_in(shapely.box(-30, -2, 30, 2), 8, LIMITS)) == []
