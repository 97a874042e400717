"""Straps, screws and pairs of holes: where they lie, what they hold, what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.plan.hang.countersink import head_of
from reliefsmith.plan.hang.holeplace import Site, best_pair
from reliefsmith.plan.hang.strength import Slot
from reliefsmith.polygons import without_openings
from reliefsmith.solid.stacking import stack
from tiers import examples

from ..arts import BLUE, RED, artworks, assert_in_register, flat, hung
from .kinds import DISC, PLATE, found, recipe

pytestmark = pytest.mark.usefixtures("unadvised")


def test_a_strap_gets_a_level_slot_with_a_wall_that_holds():
    plan = hung(flat(DISC), recipe("strap"))
    hole = plan.hole
    assert hole.slot_mm == (11.0, 3.0)
    assert hole.diameter_mm == 3.0
    assert hole.wall_mm >= 4.0 - 0.005  # the table's wall, since the bridge bends
    assert hole.hang_angle_deg < 0.05
    assert "hole-weak" not in found(plan)
    x, y = hole.center_mm
    slot = shapely.box(x - 5.45, y - 0.05, x + 5.45, y + 0.05)
    assert not plan.base.intersects(slot)
    assert_in_register(plan)


def test_a_slot_of_another_size_is_as_asked_whichever_way_it_is_given():
    plan = hung(flat(DISC), recipe("strap", slot_mm=[4.0, 20.0]))
    assert plan.hole.slot_mm == (20.0, 4.0)
    assert "hole-weak" not in found(plan)  # its wall is wider: 4 * sqrt(20 / 11) = 5.39 mm
    assert plan.hole.wall_mm == pytest.approx(5.394, abs=0.02)
    assert Slot(20.0, plan.hole.wall_mm, 2.0).weakest().factor >= 3.0
    assert Slot(20.0, 4.0, 2.0).weakest().factor < 3.0  # 90 * 20 / 12 / (2 * 4^2 / 6) = 28 MPa
    thin = hung(flat(DISC), recipe("strap", slot_mm=[20.0, 4.0]).with_values({"heights.base_mm": 1.0}))
    assert "hole-weak" in found(thin)


def test_a_ribbon_gets_a_slot_for_its_width_and_a_wall_that_holds():
    plan = hung(flat(DISC), recipe("ribbon"))
    assert plan.hole.slot_mm == (23.0, 2.5)
    assert plan.hole.hardware == "ribbon"
    assert "hole-weak" not in found(plan)
    (words,) = [item.message for item in plan.notes if item.code == "eyelet-added"]
    assert "takes a ribbon of 22 mm" in words


def test_a_slot_wider_with_its_walls_than_the_piece_is_refused():
    least = 23.0 + 2 * 5.6
    small = shapely.Point(0, 0).buffer((least - 0.5) / 2 - 1.0, 64)  # and a border of 1 mm round it
    with pytest.raises(GeometryError, match=r"a slot of 23 mm with walls of 5\.6 mm is wider than the piece"):
        hung(flat((RED, small)), recipe("ribbon"))
    assert hung(flat((RED, small.buffer(0.5))), recipe("ribbon")).hole.slot_mm == (23.0, 2.5)


@pytest.mark.parametrize("kind", ["cord", "jump-ring", "ball-chain", "split-ring", "auto"])
def test_two_holes_lie_level_and_alike_far_from_the_balance(kind):
    plan = hung(flat(DISC, (BLUE, shapely.box(4, 2, 9, 7))), recipe(kind, holes=2))
    left, right = plan.holes
    assert left.center_mm[1] == right.center_mm[1]
    assert left.center_mm[0] < right.center_mm[0]
    assert left.center_mm[1] > plan.center_of_mass_mm[1]
    middle = (left.center_mm[0] + right.center_mm[0]) / 2
    assert middle == pytest.approx(plan.center_of_mass_mm[0], abs=0.05)
    assert left.hang_angle_deg == right.hang_angle_deg < 0.2
    assert min(left.wall_mm, right.wall_mm) >= 2.5 - 0.005
    assert plan.base.geom_type == "Polygon"


@examples(8, 60, artworks(), st.sampled_from(["cord", "screw", "strap"]), st.sampled_from([1, 2]))
def test_any_artwork_takes_any_hardware_or_is_refused_in_one_line(areas, kind, count):
    try:
        plan = hung(areas, recipe(kind, holes=count))
    except GeometryError:  # its words: above and below
        assert count == 2 or kind == "strap"
        return
    assert len(plan.holes) == count
    assert_in_register(plan)
    assert len({hole.center_mm[1] for hole in plan.holes}) == 1
    for hole in plan.holes:
        assert hole.wall_mm >= 2.0
        assert hole.hardware == kind
    for pocket in plan.pockets:
        assert pocket.polygon.difference(plan.base).area < 1e-6
        for motif in plan.motifs:
            assert motif.polygon.distance(pocket.polygon) >= 0.29


def test_screws_go_as_far_apart_as_the_walls_allow_on_one_level():
    plan = hung(flat(PLATE), recipe("screw", holes=2))
    left, right = plan.holes
    head = head_of(5.0)[1]
    # The plate with its border reaches to 41; the head needs half its width and 1.2 mm of wall.
    assert right.center_mm[0] == pytest.approx(41 - head / 2 - 1.2, abs=0.3)
    assert left.center_mm == (pytest.approx(-right.center_mm[0], abs=0.01), right.center_mm[1])
    assert left.hang_angle_deg == 0.0
    assert all(hole.origin == "inside" for hole in plan.holes)


def test_four_screws_are_spread_over_two_levels_into_the_corners():
    plan = hung(flat((RED, shapely.box(-40, -30, 40, 30))), recipe("screw", holes=4))
    inset = head_of(5.0)[1] / 2 + 1.2  # a head and its wall, from the border at 41 and 31
    places = np.array([hole.center_mm for hole in plan.holes])
    corners = np.array([[-1, 1], [1, 1], [-1, -1], [1, -1]]) * (41 - inset, 31 - inset)
    assert np.abs(places - corners).max() < 1.0
    assert len({y for _, y in places.tolist()}) == 2
    assert all(hole.hang_angle_deg == 0 and hole.origin == "inside" for hole in plan.holes)
    by_hand = hung(flat((RED, shapely.box(-40, -30, 40, 30))), recipe("screw", holes=4, at_mm=[-20.0, 10.0]))
    mirrored = np.array([[-20, 10], [20, 10], [-20, -10], [20, -10]])
    assert np.abs(np.array([hole.center_mm for hole in by_hand.holes]) - mirrored).max() < 0.1


@pytest.mark.parametrize(("kind", "count"), [("screw", 3), ("cord", 4), ("magnet", 4)])
def test_only_screws_are_four_and_nothing_is_three(kind, count):
    with pytest.raises(RecipeError, match=rf"hang\.holes {count} is not made; set 1 or 2, or 4"):
        hung(flat((RED, shapely.box(-40, -30, 40, 30))), recipe(kind, holes=count))


def test_a_pair_placed_by_hand_is_mirrored():
    plan = hung(flat(PLATE), recipe("cord", holes=2, at_mm=[-20.0, 10.0]))
    assert plan.holes[0].center_mm == (-20.0, 10.0)
    assert plan.holes[1].center_mm == (pytest.approx(20.0, abs=0.01), 10.0)


def test_a_base_with_no_room_for_two_is_refused():
    base = shapely.box(0, 0, 30, 10)
    nothing = shapely.MultiPolygon()
    site = Site(base, nothing, nothing, (-60.0, 0.0), 5.0, 2.5, ())  # all of it is on one side of the balance
    for widest in (True, False):
        with pytest.raises(GeometryError, match=r"set hang\.holes to 1"):
            best_pair(site, widest=widest)


@pytest.mark.parametrize("count", [1, 2])
@pytest.mark.parametrize("rim", [0.0, 2.0])
def test_screws_lie_in_the_middle_of_a_wide_border(count, rim):
    art = (RED, shapely.box(-40, -25, 40, 25)), (BLUE, shapely.box(-20, -10, 20, 10))
    wide = {"base.border_mm": 20.0, "base.shape": "rectangle", "base.rim_mm": rim}
    plan = hung(flat(*art), recipe("screw", holes=count).with_values(wide))
    for hole in plan.holes:
        edge = shapely.Point(hole.center_mm).distance(shapely.boundary(without_openings(plan.base)))
        assert edge == pytest.approx(10.0, abs=0.5)


@pytest.mark.parametrize("rim", [1.0, 2.0, 4.0])
def test_a_rim_stands_outside_of_the_heads_of_screws(rim):
    art = (RED, shapely.box(-40, -25, 40, 25)), (BLUE, shapely.box(-20, -10, 20, 10))
    narrow = {"base.border_mm": 6.0, "base.rim_mm": rim, "heights.base_mm": 3.0, "heights.style": "raised"}
    job = recipe("screw", holes=2).with_values(narrow)
    plan = hung(flat(*art), job)
    stacked = stack(plan, heights=job.heights, printer=job.printer, base=job.base)
    assert any(pocket.kind == "countersink" for pocket in plan.pockets)
    assert stacked.slabs
