"""Tongues below the artwork, by which a piece stands in the slots of feet."""

from __future__ import annotations

import pytest
import shapely

from core.plan.arts import BLACK, RED, assert_in_register, connected, flat
from reliefsmith.errors import GeometryError
from reliefsmith.model import Plan
from reliefsmith.plan.standing.tongues import HELD_MM, SPREAD, tongue
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import StandSettings

RECIPE = Recipe()


def stood(shape: shapely.Geometry, **settings: object) -> tuple[Plan, Plan]:
    before = connected(flat((BLACK, shape), (RED, shapely.box(-3, -3, 3, 3))))
    stand = StandSettings(**{"kind": "slot", **settings})
    made = tongue(before, stand=stand, heights=RECIPE.heights, base=RECIPE.base, printer=RECIPE.printer)
    return before, made


PLATE = shapely.box(-50, -20, 50, 20)


def test_two_tongues_stand_alike_far_from_the_middle_and_sit_as_deep_as_asked() -> None:
    before, made = stood(PLATE, width_mm=16.0, slot_mm=8.0)
    x0, low, x1, _ = before.base.bounds
    assert made.base.bounds[1] == pytest.approx(low - 8.0)
    one, other = sorted(made.tongues.geoms, key=lambda piece: piece.bounds)
    for piece, offset in ((one, -SPREAD), (other, SPREAD)):
        left, bottom, right, top = piece.bounds
        assert right - left == pytest.approx(16.0, abs=0.002)
        assert (left + right) / 2 == pytest.approx(offset * (x1 - x0), abs=0.5)
        assert (bottom, top) == pytest.approx((low - 8.0, low), abs=0.002)
    assert_in_register(made)
    assert [item.code for item in made.notes[-2:]] == ["tongue-added"] * 2


def test_one_tongue_stands_below_the_middle_and_moves_the_balance_down() -> None:
    before, made = stood(PLATE, feet=1)
    (piece,) = made.tongues.geoms
    assert piece.centroid.x == pytest.approx(0.0, abs=0.01)
    still = tongue(
        before, stand=StandSettings(), heights=RECIPE.heights, base=RECIPE.base, printer=RECIPE.printer
    )
    assert still is before
    assert made.center_of_mass_mm is not None
    assert made.center_of_mass_mm[1] < -0.1


def test_a_tongue_reaches_up_to_where_the_base_has_its_whole_width() -> None:
    """A disc is 16 mm wide where it is 2.2 mm high (radius 30)."""
    before, made = stood(shapely.Point(0, 0).buffer(28, quad_segs=64), feet=1)
    low = before.base.bounds[1]
    beside = made.base.intersection(shapely.LineString([(-40, low + 0.8), (40, low + 0.8)]))
    assert beside.bounds[2] - beside.bounds[0] == pytest.approx(16.0, abs=0.01)
    assert HELD_MM == 3.0


def test_a_base_that_is_nowhere_as_wide_is_refused() -> None:
    with pytest.raises(GeometryError, match="no room for a tongue of 30 mm"):
        stood(shapely.box(-9, -30, 9, 30), feet=1, width_mm=30.0)


def test_two_feet_that_meet_are_refused() -> None:
    with pytest.raises(GeometryError, match="too narrow for two feet"):
        stood(shapely.box(-25, -20, 25, 20), width_mm=16.0)
