"""colors.most: colors beyond the limit go into others, the least missed first, and each is said."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.model import FlatAreas, Plan
from reliefsmith.plan import outline
from reliefsmith.recipe import Recipe
from tiers import examples

from ..arts import BLACK, BLUE, RED, WHITE, artworks, assert_in_register, codes, flat, outlined

BROWN, TAN, LEAF = (120, 80, 40), (138, 96, 52), (30, 140, 60)
BODY = shapely.box(-20, -15, 20, 15)


def bird() -> FlatAreas:
    """A shaded body in two browns, a leaf that touches neither, dark eyes, on transparent ground."""
    return flat(
        (BROWN, BODY),
        (TAN, shapely.box(-20, -15, 20, -4)),
        (BLACK, shapely.Point(10, 8).buffer(2.5)),
        (LEAF, shapely.box(30, -10, 45, 10)),
        (RED, shapely.box(36, -10, 45, 0)),
    )


def most(areas: FlatAreas, count: int, **values: object) -> Plan:
    return outlined(areas, Recipe().with_values({"colors.most": count, **values}))


def colors_of(plan: Plan) -> set[tuple[int, int, int]]:
    return {plan.base_color, *(motif.color for motif in plan.motifs)}


def test_near_browns_go_first_and_it_is_said() -> None:
    plan = most(bird(), 4)
    assert colors_of(plan) == {BROWN, BLACK, LEAF, RED}
    (said,) = plan.findings
    assert said.code == "color-folded"
    assert all(word in said.message for word in ("colors.most = 4", "#8a6034", "#785028", "no edge is lost"))
    assert BODY.contains(shapely.Point(said.at_mm[:2]))
    assert_in_register(plan)


def test_an_edge_that_must_go_is_counted() -> None:
    plan = most(bird(), 2)
    assert len(colors_of(plan)) == 2
    place = shapely.Point(10, 8)
    assert any(motif.polygon.contains(place) for motif in plan.motifs)  # the eye still shows
    assert codes(plan.findings) == ["color-folded"] * 3
    assert "of the picture's edges are lost" in plan.findings[-1].message
    assert_in_register(plan)


@settings(max_examples=25, deadline=None)
@given(areas=artworks(), count=st.integers(1, 6))
def test_a_piece_has_no_more_colors_than_asked_for(areas: FlatAreas, count: int) -> None:
    plan, whole = most(areas, count), outlined(areas)
    present = len(colors_of(whole))
    assert len(colors_of(plan)) == min(count, present)
    assert len(plan.findings) == max(present - count, 0)
    assert_in_register(plan)
    if count >= present:
        assert plan == whole


@cache
def _colors_of_bird(count: int):
    return colors_of(most(bird(), count))


@examples(4, 10, order=st.permutations(range(5)), count=st.integers(1, 4))
def test_the_order_of_colors_changes_nothing(order: list[int], count: int) -> None:
    areas = bird()
    turned = replace(
        areas, polygons=tuple(areas.polygons[index] for index in order), colors=areas.colors[list(order)]
    )
    assert colors_of(most(turned, count)) == _colors_of_bird(count)


def test_a_base_asked_for_stays() -> None:
    plan = most(bird(), 2, **{"colors.base": "#ffffff"})
    assert plan.base_color == WHITE
    assert len(colors_of(plan)) == 2


def test_a_count_stands_above_the_limit() -> None:
    for asked in ({"colors.count": 5}, {"colors.palette": ["#785028", "#000000"]}):
        plan = most(bird(), 2, **asked)
        assert len(colors_of(plan)) == 5
        assert codes(plan.findings) == ["colors-many"]
    assert codes(most(bird(), 5, **{"colors.count": 5}).findings) == []


def test_ground_that_the_art_encloses_may_go_too() -> None:
    areas = flat(
        (WHITE, shapely.Point(0, 0).buffer(8)),
        (BLUE, shapely.box(-20, -20, 20, 20) - shapely.Point(0, 0).buffer(8)),
    )
    areas = replace(areas, ground=WHITE, enclosed=0)
    plan = most(areas, 1)
    assert colors_of(plan) == {BLUE}
    assert codes(plan.findings) == ["color-folded"]
    assert "of the picture's edges are lost" in plan.findings[0].message
    assert plan.motifs == ()


def test_with_only_stock_what_one_filament_prints_goes_together() -> None:
    """Both browns and the red are printed in brick, the eye and the leaf in moss."""
    stock = [{"name": "moss", "color": "#12321c"}, {"name": "brick", "color": "#b04030"}]
    r = Recipe().with_values({"filaments.stock": stock, "filaments.only_stock": True, "colors.most": 4})
    plan = outline(bird(), base=r.base, colors=r.colors, base_stock=r.base_stock)
    assert colors_of(plan) == {BROWN, TAN, LEAF, RED}
    assert "no edge is lost" in plan.findings[-1].message
