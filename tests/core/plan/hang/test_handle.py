"""A handle: the highest enclosed ground that may be opened, and whether hardware swings round its bar."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.plan.base.ground import WIDE_MM, Art
from reliefsmith.plan.hang.handle import handle_of, is_bar, with_handle_open
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BaseSettings

from ..arts import BLACK, CREAM, RED, YELLOW, assert_in_register, hung, on_paper, shown_at

PLATE = shapely.box(-20, -20, 20, 20)
EYE = shapely.Point(0, 14).buffer(3)


def picture(*inside: shapely.Geometry) -> Art:
    """Return a red plate on cream paper with enclosed ground."""
    ground = as_multi(shapely.union_all(inside))
    return Art((ground, as_multi(PLATE.difference(ground))), (CREAM, RED), CREAM, 0)


def test_the_highest_piece_of_enclosed_ground_is_the_handle() -> None:
    low = shapely.box(-3, -15, 3, -9)
    assert handle_of(picture(low, EYE), []).equals(EYE)
    assert handle_of(picture(low, EYE), [EYE.buffer(-1)]).equals(low)  # a mark keeps the upper one


def test_ground_too_narrow_or_round_something_or_too_large_is_none() -> None:
    narrow = shapely.box(-8, 10, 8, 10 + WIDE_MM - 0.1)
    assert handle_of(picture(narrow), []).is_empty
    assert not handle_of(picture(shapely.box(-8, 10, 8, 10 + WIDE_MM + 0.1)), []).is_empty
    assert handle_of(picture(EYE.difference(EYE.centroid.buffer(1))), []).is_empty
    most = 0.2 * PLATE.area
    for area, is_handle in ((0.99 * most, True), (1.01 * most, False)):
        half = area**0.5 / 2
        assert handle_of(picture(shapely.box(-half, -half, half, half)), []).is_empty is not is_handle
    assert handle_of(replace(picture(EYE), enclosed=None), []).is_empty


def test_an_open_handle_keeps_the_border_inside_it() -> None:
    plan = replace(plan_of(PLATE, (RED, PLATE.difference(EYE))), handle=as_multi(EYE))
    opened, ring = with_handle_open(plan, BaseSettings(border_mm=1.0, margin_mm=0.3))
    assert ring.difference(EYE.buffer(-1.0 + 0.01)).is_empty
    assert opened.base.area == pytest.approx(PLATE.area - ring.area)
    assert ring.area == pytest.approx(EYE.buffer(-1.0).area, rel=0.01)
    assert with_handle_open(plan, BaseSettings(border_mm=3.1)) is None  # nothing is left to open


@pytest.mark.parametrize(("wall", "reach", "swings"), [(2.0, 2.01, True), (2.0, 1.99, False)])
def test_a_ring_of_even_width_is_a_bar_for_what_reaches_round_it(
    wall: float, reach: float, swings: bool
) -> None:
    opening = shapely.Point(0, 0).buffer(6, 64)
    assert is_bar(opening, opening.buffer(wall, 64).difference(opening), reach) is swings


def test_half_of_the_way_round_it_is_enough() -> None:
    """A square opening with its way out on two sides of four, or on one."""
    opening = shapely.box(-5, -5, 5, 5)
    assert is_bar(opening, shapely.box(-25, -6, 25, 6).difference(opening), 1.0)
    assert not is_bar(opening, shapely.box(-25, -25, 25, 6).difference(opening), 1.0)


@pytest.mark.parametrize(("values", "opens"), [({}, True), ({"hang.hardware": "magnet"}, False)])
def test_a_handle_is_opened_to_hang_the_piece_by_it(values: dict[str, object], opens: bool) -> None:
    bow = shapely.Point(0, 14).buffer(9) - shapely.Point(0, 14).buffer(6)
    lamp = ((BLACK, shapely.union(bow, shapely.box(-12, 3, 12, 6))), (YELLOW, shapely.box(-10, -25, 10, 3)))
    plan = hung(on_paper(*lamp), Recipe().with_values(values))
    assert plan.base_color == CREAM
    assert (shown_at(plan, 0, 14) is None) == opens
    assert (plan.hole is not None and plan.hole.origin == "artwork") == opens
    assert_in_register(plan)


@pytest.mark.parametrize(
    "inside",
    [shapely.Point(14, 14).buffer(3), shapely.Point(0, -12).buffer(3), shapely.box(-14, -14, 14, 14)],
    ids=["aside", "low", "most of the picture"],
)
def test_ground_that_is_no_handle_stays_closed(inside: shapely.Polygon) -> None:
    areas = on_paper((RED, shapely.box(-20, -20, 20, 20) - inside))
    plan = hung(areas)
    place = inside.representative_point()
    assert shown_at(plan, place.x, place.y) == CREAM
    assert plan.hole.origin != "artwork"


def test_protected_ground_is_not_opened() -> None:
    bow = shapely.Point(0, 14).buffer(9) - shapely.Point(0, 14).buffer(6)
    art = on_paper((BLACK, shapely.union(bow, shapely.box(-10, -25, 10, 6))))
    assert hung(art).hole.origin == "artwork"
    kept = hung(art, Recipe().with_values({"marks": [{"kind": "protect", "at_mm": [0, 14]}]}))
    assert shown_at(kept, 0, 14) == CREAM
    assert kept.hole.origin != "artwork"
