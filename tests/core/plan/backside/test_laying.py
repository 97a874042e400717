"""A second picture laid into the back: mirrored, in the piece's colors where alike, where there is room."""

from __future__ import annotations

import pytest
import shapely

from core.plan.arts import BLACK, BLUE, RED, YELLOW, flat, hung
from reliefsmith.errors import GeometryError
from reliefsmith.model import FlatAreas, Plan
from reliefsmith.plan.backside.laying import _widest, lay
from reliefsmith.recipe import Recipe

R = Recipe().with_values({"colors.base": "#0a0a0a"})
PLAN = hung(flat((BLACK, shapely.box(-40, -25, 40, 25)), (RED, shapely.box(-10, -10, 10, 10))), R)
FLAG = shapely.union(shapely.box(0, 0, 30, 5), shapely.box(0, 0, 5, 20))
"""A bracket: its corner lies lower left, so mirrored it lies lower right."""


def laid(areas: FlatAreas | None, **back: object) -> Plan:
    recipe = R.with_values({f"back.{name}": value for name, value in back.items()})
    return lay(PLAN, areas, back=recipe.back, base=recipe.base, motif=recipe.motif, printer=recipe.printer)


def test_without_a_second_picture_the_plan_stays() -> None:
    assert laid(None) is PLAN


def test_it_is_mirrored_and_as_large_and_where_it_is_asked_to_be() -> None:
    made = laid(flat((BLUE, FLAG)), width_mm=20.0, at_mm=[5.0, -3.0])
    (inlay,) = made.inlays
    left, low, right, high = inlay.polygon.bounds
    assert (right - left, high - low) == pytest.approx((20.0, 20.0 * 20 / 30), abs=0.05)
    assert ((left + right) / 2, (low + high) / 2) == pytest.approx((5.0, -3.0), abs=0.05)
    assert inlay.polygon.centroid.x > 6.0  # the corner lies to the right now
    assert inlay.color == BLUE
    assert (inlay.kind, inlay.side) == ("picture", "back")
    assert made.notes[len(PLAN.notes)].code == "picture-laid"


def test_without_a_width_it_is_as_large_as_it_goes_clear_of_edges_and_the_hole() -> None:
    (inlay,) = laid(flat((BLUE, FLAG))).inlays
    left, _, right, _ = inlay.polygon.bounds
    assert right - left > 50
    assert PLAN.base.buffer(-0.3).covers(inlay.polygon)
    at = laid(flat((BLUE, FLAG)), at_mm=[20.0, 0.0]).inlays[0].polygon
    assert at.bounds[2] - at.bounds[0] < right - left - 5
    assert (at.bounds[0] + at.bounds[2]) / 2 == pytest.approx(20.0, abs=0.1)


def test_a_turn_is_as_seen_from_behind() -> None:
    (inlay,) = laid(flat((BLUE, FLAG)), width_mm=20.0, at_mm=[0.0, 0.0], turn_deg=90.0).inlays
    left, low, right, high = inlay.polygon.bounds
    assert high - low == pytest.approx((right - left) * 30 / 20, rel=0.01)


def test_alike_colors_are_the_pieces_and_what_has_the_bases_is_left_to_it() -> None:
    near = (202, 31, 31)
    areas = flat((BLUE, FLAG), (near, shapely.box(10, 10, 20, 15)), (BLACK, shapely.box(1, 8, 4, 12)))
    made = laid(areas, width_mm=30.0, at_mm=[0.0, 0.0])
    assert [item.color for item in made.inlays] == [BLUE, RED]
    whole = laid(areas, width_mm=30.0, at_mm=[0.0, 0.0], palette="piece")
    assert {item.color for item in whole.inlays} <= {RED, BLACK}


def test_what_cannot_be_seen_or_has_no_room_is_refused() -> None:
    with pytest.raises(GeometryError, match="no color but the base's"):
        laid(flat((BLACK, FLAG)))
    with pytest.raises(GeometryError, match="no room at back"):
        laid(flat((BLUE, FLAG)), at_mm=[200.0, 0.0])
    with pytest.raises(GeometryError, match="comes too near to an edge"):
        laid(flat((BLUE, FLAG)), width_mm=60.0, at_mm=[20.0, 0.0])


def test_too_many_colors_are_refused() -> None:
    shades = [(250 - 30 * number, 20 + 28 * number, 90 + 20 * (number % 3)) for number in range(8)]
    strips = [(shade, shapely.box(8 * number, 0, 8 * number + 8, 20)) for number, shade in enumerate(shades)]
    with pytest.raises(GeometryError, match="colors beside the base's"):
        laid(flat(*strips))
    assert YELLOW not in {item.color for item in laid(flat(*strips), palette="piece").inlays}


def test_the_widest_that_fits_is_found_to_a_twentieth_of_a_millimetre() -> None:
    for most in (3.0, 17.3, 80.0):
        assert most - 0.05 <= _widest(lambda width, most=most: width <= most, 1.0, 100.0) <= most
    with pytest.raises(GeometryError, match="width of 5 mm"):
        _widest(lambda width: width < 5, 5.0, 9.0)
