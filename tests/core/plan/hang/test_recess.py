"""Pockets for magnets and pins: inside the base with their wall, where they belong, or refused."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.plan.hang.balance import center_of_mass
from reliefsmith.recipe import Recipe

from ..arts import BLUE, RED, artworks, flat, hung

pytestmark = pytest.mark.usefixtures("unadvised")

PLATE = (RED, shapely.box(-40, -15, 40, 15))


def recipe(kind, **values):
    return Recipe().with_values({"hang.hardware": kind, **values})


def test_a_magnet_lies_at_the_balance_with_the_play_of_its_pocket():
    plan = hung(flat(PLATE), recipe("magnet"))
    (pocket,) = plan.pockets
    assert plan.hole is None
    assert plan.base.geom_type == "Polygon"
    assert not plan.base.interiors  # no hole
    left, low, right, high = pocket.polygon.bounds
    assert right - left == pytest.approx(8.0 + 0.15, abs=0.006)
    assert high - low == pytest.approx(8.0 + 0.15, abs=0.006)
    assert pocket.depth_mm == pytest.approx(1.2)  # 1.0 and 0.2
    assert (left + right) / 2 == pytest.approx(0, abs=0.01)
    assert pocket.side == "back"
    assert {item.code for item in plan.findings} == set()


@settings(max_examples=20)
@given(artworks(), st.sampled_from(["magnet", "pin", "tape"]), st.sampled_from([1, 2]))
def test_a_pocket_is_inside_the_base_with_its_wall_or_refused(areas, kind, count):
    small = {"hang.magnet_mm": [4.0, 1.0], "hang.pin_mm": [8.0, 2.0], "hang.holes": count}
    small["hang.tape_mm"] = [8.0, 4.0]
    try:
        plan = hung(areas, recipe(kind, **small))
    except GeometryError:  # its words: below
        return
    assert len(plan.pockets) == (count if kind != "pin" else 1)
    for pocket in plan.pockets:
        assert pocket.polygon.buffer(1.19).difference(plan.base).area < 1e-3
    if len(plan.pockets) == 2:
        one, other = (pocket.polygon for pocket in plan.pockets)
        assert one.distance(other) >= 1.19
        assert one.centroid.y == pytest.approx(other.centroid.y, abs=0.002)


def test_two_magnets_lie_on_the_level_of_the_balance_and_far_apart():
    plan = hung(flat(PLATE), recipe("magnet", **{"hang.holes": 2}))
    left, right = (pocket.polygon.centroid for pocket in plan.pockets)
    assert left.y == pytest.approx(right.y, abs=0.002)
    assert abs(left.y - plan.center_of_mass_mm[1]) <= 0.51
    # The plate with its border reaches to 41.
    assert right.x == pytest.approx(41 - 4.075 - 1.2, abs=0.1)


def test_a_pin_lies_level_above_the_balance():
    plan = hung(flat(PLATE), recipe("pin"))
    (pocket,) = plan.pockets
    left, low, right, high = pocket.polygon.bounds
    assert (right - left, high - low) == pytest.approx((25.3, 5.3), abs=0.01)
    assert pocket.polygon.centroid.x == pytest.approx(0, abs=0.01)
    assert pocket.polygon.centroid.y > plan.center_of_mass_mm[1]
    assert high <= 16 - 1.2
    assert pocket.depth_mm == pytest.approx(0.8)


def test_a_pin_that_cannot_be_above_the_balance_hangs_crooked_and_says_so():
    arm = flat((RED, shapely.union(shapely.box(0, 0, 60, 8), shapely.box(0, 0, 8, 30))))
    plan = hung(arm, recipe("pin", **{"hang.pin_mm": [20.0, 4.0]}))
    assert "hangs-crooked" in {item.code for item in plan.findings}


@pytest.mark.parametrize(
    ("style", "needed"),
    [("raised", 1.6), ("stepped", 1.6), ("flush", 2.0), ("sunk", 2.4)],
)
def test_a_base_too_low_is_refused_with_the_height_that_does(style, needed):
    art = flat(PLATE, (BLUE, shapely.box(-5, -5, 5, 5)))
    low = recipe("magnet", **{"heights.style": style, "heights.base_mm": 1.4})
    with pytest.raises(GeometryError, match=rf"raise it to {needed:g}$"):
        hung(art, low)
    assert hung(art, low.with_values({"heights.base_mm": needed})).pockets


def test_depth_is_whole_layers_that_hold_the_magnet():
    thick = {"heights.layer_mm": 0.16, "heights.first_layer_mm": 0.3}
    (pocket,) = hung(flat(PLATE), recipe("magnet", **thick)).pockets
    assert pocket.depth_mm == pytest.approx(0.3 + 6 * 0.16)  # 1.26, the first that holds 1.2


def test_what_does_not_fit_is_refused_in_one_line():
    with pytest.raises(GeometryError, match="no room for a magnet of 40 x 1 mm"):
        hung(flat(PLATE), recipe("magnet", **{"hang.magnet_mm": [40.0, 1.0]}))
    with pytest.raises(GeometryError, match=r"hang\.holes to 1"):
        hung(flat((RED, shapely.box(-6, -6, 6, 6))), recipe("magnet", **{"hang.holes": 2}))
    with pytest.raises(GeometryError, match=r"hang\.at_mm leaves a wall of less than 1\.2 mm"):
        hung(flat(PLATE), recipe("magnet", **{"hang.at_mm": [36.5, 0.0]}))


def test_pockets_count_in_the_balance():
    base = shapely.box(0, 0, 10, 10)
    plan = hung(flat(PLATE), recipe("magnet", **{"hang.at_mm": [20.0, 0.0]}))
    heights = Recipe().heights
    area = plan.pockets[0].polygon.area
    whole = plan.base.area * heights.base_mm + 80 * 30 * heights.motif_mm
    expected = -20.0 * area * 1.2 / (whole - area * 1.2)
    assert plan.center_of_mass_mm[0] == pytest.approx(expected, abs=0.002)
    assert center_of_mass(base, [], heights) == (5.0, 5.0)
    assert math.isclose(area, math.pi * 4.075**2, rel_tol=0.005)
