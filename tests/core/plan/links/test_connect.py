from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.plan import connect
from reliefsmith.plan.links.bars import link_between, links_between, spanning_pairs
from reliefsmith.plan.links.linkmarks import asked_links
from reliefsmith.polygons import polygons_of, shrink
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.tables import Mark
from tiers import examples

from ..arts import BLUE, RED, artworks, assert_in_register, connected, flat, repaired

pytestmark = pytest.mark.usefixtures("unadvised")

TWO = (RED, shapely.union_all([shapely.box(-20, -4, -6, 4), shapely.box(0, -4, 14, 4)]))


def codes(plan):
    return [note.code for note in plan.notes]


@pytest.mark.parametrize("how", ["links", "grow", "backing"])
def test_two_pieces_become_one_with_a_neck_that_holds(how):
    plan = connected(flat(TWO), Recipe().with_values({"pieces.connect": how}))
    assert plan.base.geom_type == "Polygon"
    assert len(polygons_of(shrink(plan.base, 0.95))) == 1
    assert_in_register(plan)


def test_a_link_is_as_wide_as_asked_as_short_as_possible_and_noted():
    before, after = repaired(flat(TWO)), connected(flat(TWO))
    added = after.base.area - before.base.area
    assert 3 * 4 <= added <= 3 * 4 + 4 * 1.0  # bar 3 x 4 mm, four fillets of at most radius squared
    (link,) = [note for note in after.notes if note.code == "link-added"]
    assert link.size_mm == pytest.approx(4.0, abs=0.02)


def test_pieces_that_face_each_other_along_four_widths_get_two_links_far_apart():
    bars = shapely.union_all([shapely.box(-20, 2, 20, 8), shapely.box(-20, -8, 20, -2)])
    plan = connected(flat((RED, bars)))
    places = [note.at_mm for note in plan.notes if note.code == "link-added"]
    assert len(places) == 2
    assert abs(places[0][0] - places[1][0]) > 20


def test_a_chain_of_three_in_a_ring_is_closed():
    discs = [shapely.Point(x, y).buffer(6) for x, y in ((0, 0), (16, 0), (8, 13.9))]
    plan = connected(flat((RED, shapely.union_all(discs))))
    assert codes(plan).count("link-added") == 3
    assert len(plan.base.interiors) == 1


def test_a_long_link_is_made_wider():
    far = shapely.union_all([shapely.box(-40, -8, -20, 8), shapely.box(0, -8, 20, 8)])
    before, after = repaired(flat((RED, far))), connected(flat((RED, far)))
    assert (after.base.area - before.base.area) / 18 >= 18 / 4


def test_pieces_left_apart_are_a_finding_that_stops():
    plan = connected(flat(TWO), Recipe().with_values({"pieces.connect": "none"}))
    (found,) = plan.findings
    assert (found.code, found.severity) == ("not-one-piece", "stop")
    assert plan.base.geom_type == "MultiPolygon"


def test_one_piece_is_left_alone():
    plan = connected(flat((RED, shapely.box(-9, -9, 9, 9))))
    assert plan.base.geom_type == "Polygon"
    assert not [code for code in codes(plan) if code == "link-added"]


def test_a_backing_holds_the_core_of_an_opening_by_links_and_heeds_where_none_may_pass():
    ring = shapely.Point(0, 0).buffer(15) - shapely.Point(0, 0).buffer(11)
    apart = shapely.box(25, -5, 35, 5)
    areas = flat((RED, shapely.union(ring, apart)), (BLUE, shapely.Point(0, 0).buffer(5)))
    half = [[-12, -12], [0, -12], [0, 12], [-12, 12]]  # the left half of the gap round the core
    marks = [{"kind": "no-link", "polygon_mm": half}]
    plan = connected(areas, Recipe().with_values({"pieces.connect": "backing", "marks": marks}))
    assert plan.base.geom_type == "Polygon"
    held = [note.at_mm for note in plan.notes if "holds a core" in note.message]
    assert held
    assert all(x > 0 for x, _ in held)
    assert not plan.base.contains(shapely.Point(-8, 0))  # the opening stays one
    assert codes(plan).count("mark-applied") == 1
    assert "backing-added" in codes(plan)
    assert_in_register(plan)


def test_a_backing_keeps_the_openings_of_single_pieces():
    ring = shapely.Point(-20, 0).buffer(12) - shapely.Point(-20, 0).buffer(6)
    areas = flat((RED, ring.union(shapely.box(8, -6, 20, 6))))
    plan = connected(areas, Recipe().with_values({"pieces.connect": "backing"}))
    assert len(plan.base.interiors) == 1
    assert "backing-added" in codes(plan)


@examples(10, 60, artworks())
def test_whatever_the_artwork_the_base_is_one_piece_that_survives_a_millimetre(areas):
    plan = connected(areas)
    assert plan.base.geom_type == "Polygon"
    assert len(polygons_of(shrink(plan.base, 0.9))) == 1
    assert_in_register(plan)


@settings(max_examples=20)
@given(st.integers(3, 60), st.integers(0, 999))
def test_the_tree_joins_all_pieces_with_one_pair_fewer_than_pieces(count, seed):
    squares = [shapely.box(x, y, x + 2, y + 2) for x, y in _spread(count, seed)]
    tree = spanning_pairs(squares)
    assert len(tree) == count - 1
    reached = {0}
    for _ in range(count):
        reached |= {b for a, b in tree if a in reached} | {a for a, b in tree if b in reached}
    assert reached == set(range(count))


def _spread(count, seed):
    side = 8
    return [
        (4.0 * ((i * 7 + seed) % (side * side) % side), 4.0 * ((i * 7 + seed) % (side * side) // side))
        for i in range(count)
    ]


def test_many_pieces_give_the_same_tree_length_as_all_pairs(monkeypatch):
    squares = [shapely.box(x, y, x + 2, y + 2) for x, y in _spread(60, 3)]
    total = sum(squares[a].distance(squares[b]) for a, b in spanning_pairs(squares))
    monkeypatch.setattr("reliefsmith.plan.links.bars._ALL_PAIRS", 100)
    best = sum(squares[a].distance(squares[b]) for a, b in spanning_pairs(squares))
    assert total == pytest.approx(best)


def test_pieces_that_touch_at_a_corner_get_a_real_link():
    link = link_between(shapely.box(-5, -5, 0, 0), shapely.box(0, 0, 5, 5), 3.0)
    joined = shapely.union_all([shapely.box(-5, -5, 0, 0), shapely.box(0, 0, 5, 5), link.bar])
    assert len(polygons_of(shrink(joined, 0.95))) == 1


def test_two_colors_on_two_pieces_stay_in_register():
    areas = flat(TWO, (BLUE, shapely.box(2, -2, 6, 2)))
    assert_in_register(connected(areas))


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.8, 4.0),
    st.floats(0.5, 25.0),
    st.integers(-8000, 8000).map(lambda um: um / 1000),
    st.floats(1.5, 5.0),
    st.booleans(),
)
def test_a_link_lies_between_the_pieces_it_joins(radius, gap, aside, width, by_mark):
    """Squared stubs reached several mm past islets: a link as long as this was wider than the islet."""
    land, islet = shapely.box(-30, -10, 0, 10), shapely.Point(gap + radius, aside).buffer(radius)
    if by_mark:
        mark = Mark("link", at_mm=(gap / 2, aside))
        asked, _ = asked_links(shapely.union_all([land, islet]), [mark], width)
        bars = [link.bar for link, _ in asked]
    else:
        bars = [link.bar for link in links_between(land, islet, width)]
    between = shapely.union(land, islet).convex_hull.buffer(0.03)
    for bar in bars:
        assert between.covers(bar)
        whole = shapely.union_all([land, islet, bar])
        assert len(polygons_of(whole)) == 1
        assert len(polygons_of(shrink(whole, min(radius, width / 2) * 0.5))) == 1


def test_two_islets_are_joined_by_a_link_that_ends_with_them():
    islets = [shapely.Point(x, 0).buffer(1.2) for x in (0.0, 16.0)]
    (link,) = links_between(*islets, 3.0)
    assert shapely.union_all(islets).convex_hull.buffer(0.03).covers(link.bar)


def test_a_link_of_up_to_four_widths_is_as_wide_as_asked_and_no_wider():
    pieces = shapely.box(-20, -8, 0, 8), shapely.box(11.9, -8, 30, 8)
    assert link_between(*pieces, 3.0).bar.area == pytest.approx(11.9 * 3.0, abs=0.5)
    longer = shapely.box(-20, -8, 0, 8), shapely.box(20, -8, 40, 8)
    assert link_between(*longer, 3.0).bar.area == pytest.approx(20 * 5.0, abs=0.6)


@pytest.mark.parametrize(("link", "least", "neck"), [(3.0, 2.0, 2.0), (2.5, 5.0, 2.5), (3.0, 0.0, 1.0)])
def test_a_border_grows_until_its_neck_is_as_wide_as_the_base_must_be_and_no_further(link, least, neck):
    """Two discs that meet have a neck of 2 sqrt(R^2 - (d / 2)^2); R grows by quarter millimetres."""
    apart = 2.5
    discs = shapely.union_all([shapely.Point(x, 0).buffer(1.0, 90) for x in (0.0, apart)])
    values = {"pieces.connect": "grow", "pieces.link_mm": link, "base.min_width_mm": least}
    recipe = Recipe().with_values(values)
    before = replace(repaired(flat(TWO)), base=discs, motifs=())
    plan = connect(before, pieces=recipe.pieces, base=recipe.base)

    def at(steps: int) -> float:
        return 2 * ((apart / 2 + 0.25 * steps) ** 2 - (apart / 2) ** 2) ** 0.5

    steps = next(steps for steps in range(20) if at(steps) >= neck - 0.1)
    middle = shapely.LineString([(apart / 2, -9), (apart / 2, 9)])
    assert middle.intersection(plan.base).length == pytest.approx(at(steps), abs=0.02)


def test_where_no_bar_has_room_a_link_costs_as_one_without_body_at_either_end():
    """A piece that fills the opening of another: nothing lies between, so there is nothing to add."""
    filling = shapely.box(5, 5, 15, 15)
    link = link_between(shapely.box(0, 0, 20, 20) - filling, filling, 3.0)
    assert (link.length, link.cost) == (0.0, pytest.approx(12.0))
