from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.plan.hang.balance import center_of_mass
from reliefsmith.plan.hang.hang import _bore
from reliefsmith.plan.hang.hardware import hardware_for
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import settled
from tiers import examples

from ..arts import BLACK, BLUE, RED, YELLOW, artworks, assert_in_register, connected, flat, hung
from .kinds import DISC, found, noted

pytestmark = pytest.mark.usefixtures("unadvised")


def _heights(recipe, plan):
    """Return the heights with the style that the job takes."""
    return settled(recipe.heights, recipe.base, recipe.printer, len(plan.motifs))[0]


@examples(10, 60, artworks())
def test_every_artwork_hangs_straight_from_a_clear_hole_in_a_wall(areas):
    before = connected(areas)
    plan = hung(areas, joined=before)
    hole = plan.hole
    assert plan.base.geom_type == "Polygon"
    assert_in_register(plan)
    assert hole.wall_mm >= 2.0
    x, y = center_of_mass(before.base, before.motifs, _heights(Recipe(), before))
    column = shapely.LineString([(x, y + 5), (x, y + 100)])
    if column.intersects(before.base):  # there is something to hang it from
        assert hole.hang_angle_deg <= 3.0
    assert ("hangs-crooked" in found(plan)) == (hole.hang_angle_deg > 3.0)
    bore = shapely.Point(hole.center_mm).buffer(hole.diameter_mm / 2)
    if hole.origin != "artwork":
        assert plan.base.intersection(bore).area <= 0.005 * bore.area
        for motif in plan.motifs:
            assert motif.polygon.distance(bore) >= 0.295


def test_symmetric_art_hangs_on_its_axis():
    kite = shapely.Polygon([(0, 25), (14, 5), (0, -25), (-14, 5)])
    plan = hung(flat((RED, kite), (YELLOW, shapely.Point(0, 2).buffer(4))))
    assert plan.hole.center_mm[0] == pytest.approx(0, abs=0.01)
    assert plan.hole.hang_angle_deg < 0.05


def test_an_opening_of_the_art_above_the_mass_is_used_and_the_base_left_alone():
    lantern = shapely.Point(0, 0).buffer(20, 32) - shapely.Point(0, 14).buffer(4, 16)
    plan = hung(flat((RED, lantern)), Recipe().with_values({"base.border_mm": 0.5, "colors.base": "#c81e1e"}))
    assert plan.hole.origin == "artwork"
    assert plan.hole.diameter_mm == pytest.approx(7.0, abs=0.1)
    assert plan.hole.rest_mm[1] == pytest.approx(17.5, abs=0.1)
    assert "opening-used" in noted(plan)
    assert "eyelet-added" not in noted(plan)


def test_an_opening_too_small_for_the_hardware_is_not_used():
    lantern = shapely.Point(0, 0).buffer(20, 32) - shapely.Point(0, 14).buffer(2.2, 16)
    plan = hung(flat((RED, lantern)), Recipe().with_values({"base.border_mm": 0.5}))
    assert plan.hole.origin != "artwork"


def test_an_opening_beside_the_axis_is_passed_over_for_an_eyelet_that_hangs_straight():
    plate = shapely.box(-20, -15, 20, 15) - shapely.Point(14, 9).buffer(3.5)
    plan = hung(flat((RED, plate)), Recipe().with_values({"base.border_mm": 0.5}))
    assert plan.hole.origin == "eyelet"
    assert plan.hole.hang_angle_deg <= 3


def test_a_plate_with_room_above_the_art_gets_its_hole_inside():
    art = shapely.Point(0, 0).buffer(6)
    recipe = Recipe().with_values({"base.shape": "circle", "base.border_mm": 12.0})
    plan = hung(flat((BLUE, art)), recipe)
    assert plan.hole.origin == "inside"
    assert plan.base.exterior.equals(shapely.Polygon(plan.base.exterior).exterior)
    assert "hole-cut" in noted(plan)
    assert plan.hole.wall_mm >= 2.5


def test_no_hardware_no_hole():
    plan = hung(flat(DISC), Recipe().with_values({"hang.hardware": "none"}))
    assert plan.hole is None
    assert plan.center_of_mass_mm == pytest.approx((0, 0), abs=0.01)
    assert "hole-missing" in found(plan)


@pytest.mark.parametrize("hardware", ["split-ring", "jump-ring", "ball-chain", "cord"])
def test_every_hardware_gets_a_hole_it_fits(hardware):
    plan = hung(flat(DISC), Recipe().with_values({"hang.hardware": hardware}))
    item = hardware_for(hardware, 0, 0)
    assert item.fits(plan.hole.diameter_mm, plan.hole.wall_mm)


def test_a_piece_without_motifs_hangs_as_well():
    plan = hung(flat(DISC), Recipe().with_values({"colors.base": "#c81e1e"}))
    assert plan.motifs == ()
    assert plan.hole.center_mm[0] == pytest.approx(0, abs=0.01)
    assert plan.hole.hang_angle_deg < 0.05


EDGES = [
    {"motif.min_stroke_mm": 0.0, "motif.min_gap_mm": 0.0, "motif.min_dot_mm": 0.0, "base.min_width_mm": 0.0},
    {"base.border_mm": 0.0, "base.margin_mm": 0.0},
    {"base.border_mm": 50.0, "base.corners": "bevel"},
    {"motif.min_stroke_mm": 10.0, "motif.min_gap_mm": 10.0},
    {"base.min_width_mm": 20.0, "pieces.link_mm": 20.0},
    {"hang.hole_mm": 1.0, "hang.wall_mm": 0.8},
    {"hang.hole_mm": 50.0, "hang.wall_mm": 20.0},
    {"base.margin_mm": 20.0, "base.openings": "fill"},
    {"printer.nozzle_mm": 2.0},
    {"printer.nozzle_mm": 0.1},
]


@pytest.mark.parametrize("values", EDGES, ids=", ".join)
def test_settings_at_their_bounds_give_a_sound_plan(values):
    art = flat(
        (RED, shapely.box(-20, -12, 20, 12)),
        (BLUE, shapely.Point(-8, 0).buffer(6)),
        (YELLOW, shapely.LineString([(0, -8), (14, 8)]).buffer(0.3)),
        (BLACK, shapely.box(17, 14, 24, 20)),
    )
    plan = hung(art, Recipe().with_values(values))
    assert plan.base.geom_type == "Polygon"
    assert_in_register(plan)


@pytest.mark.parametrize("scale", [0.1, 20.0])
def test_tiny_and_huge_artworks_hang(scale):
    kite = shapely.affinity.scale(shapely.Polygon([(0, 25), (14, 5), (0, -25), (-14, 5)]), scale, scale)
    middle = shapely.Point(0, 2 * scale).buffer(4 * scale)
    plan = hung(flat((RED, kite), (YELLOW, middle)))
    assert plan.base.geom_type == "Polygon"
    assert plan.hole.hang_angle_deg <= 3
    assert_in_register(plan)


@pytest.mark.parametrize(("width", "rivals"), [(3.9, 0), (4.1, 1)])
def test_an_opening_of_four_millimetres_is_a_rival_and_a_smaller_one_is_none(width, rivals):
    recipe = Recipe()
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(10, 2, 10 + width, 12)
    bore = _bore(replace(connected(flat(DISC)), base=plate), (0.0, 0.0), recipe.hang, recipe.printer, 0.0)
    assert len(bore.site.rivals) == rivals
