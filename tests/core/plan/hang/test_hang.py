from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.errors import RecipeError
from reliefsmith.model import Motif
from reliefsmith.plan.hang.balance import center_of_mass, hang_angle
from reliefsmith.plan.hang.bore import cleared
from reliefsmith.plan.hang.hang import _bore
from reliefsmith.plan.hang.hardware import hardware_for
from reliefsmith.plan.hang.strength import Lug, Slot
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import settled

from ..arts import BLACK, BLUE, RED, YELLOW, artworks, assert_in_register, connected, flat, hung

pytestmark = pytest.mark.usefixtures("unadvised")

DISC = (RED, shapely.Point(0, 0).buffer(20, 32))


def found(plan):
    return {item.code for item in plan.findings}


def noted(plan):
    return {item.code for item in plan.notes}


def _heights(recipe, plan):
    """Return the heights with the style that the job takes."""
    return settled(recipe.heights, recipe.base, recipe.printer, len(plan.motifs))[0]


@settings(max_examples=25)
@given(artworks())
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


def test_a_hole_placed_by_hand_lies_there_clears_motifs_and_says_how_crooked_it_hangs():
    areas = flat(DISC, (BLACK, shapely.box(4, 4, 12, 12)))
    plan = hung(areas, Recipe().with_values({"hang.at_mm": [8.0, 8.0]}))
    assert plan.hole.center_mm == (8.0, 8.0)
    assert plan.hole.hang_angle_deg == pytest.approx(45, abs=3)
    assert {"hangs-crooked"} <= found(plan)
    assert "motif-cleared" in noted(plan)
    assert_in_register(plan)


def test_a_hole_placed_by_hand_outside_gets_a_neck():
    plan = hung(flat(DISC), Recipe().with_values({"hang.at_mm": [0.0, 30.0]}))
    assert plan.base.geom_type == "Polygon"
    assert plan.hole.wall_mm >= 2.0


def test_a_thin_wall_warns_and_a_thinner_one_stops():
    thin = hung(flat(DISC), Recipe().with_values({"hang.wall_mm": 1.8}))
    assert "hole-wall-thin" in found(thin)
    weak = hung(flat(DISC), Recipe().with_values({"hang.wall_mm": 1.2}))
    assert {item.code: item.severity for item in weak.findings}["hole-wall-weak"] == "stop"
    assert not found(hung(flat(DISC)))


def test_a_low_base_makes_the_hole_weak():
    low = Recipe().with_values({"heights.base_mm": 1.0})
    assert "hole-weak" in found(hung(flat(DISC), low))


def test_no_hardware_no_hole():
    plan = hung(flat(DISC), Recipe().with_values({"hang.hardware": "none"}))
    assert plan.hole is None
    assert plan.center_of_mass_mm == pytest.approx((0, 0), abs=0.01)
    assert "hole-missing" in found(plan)


def test_motifs_weigh_by_their_height():
    """Base 20 x 10 x 2 at the origin; motif 4 x 4 x 0.6 at (6, 0): x = 16 0.6 6 / (200 2 + 16 0.6)."""
    recipe = Recipe().with_values({"hang.hardware": "none", "base.border_mm": 0.0})
    plan = hung(flat((RED, shapely.box(-10, -5, 10, 5)), (BLUE, shapely.box(4, -2, 8, 2))), recipe)
    x, y = center_of_mass(plan.base, plan.motifs, _heights(recipe, plan))
    assert x == pytest.approx(16 * 0.6 * 6 / (400 + 9.6), abs=1e-6)
    assert y == pytest.approx(0, abs=1e-9)
    assert plan.center_of_mass_mm == (round(x, 3), round(y, 3))


def test_the_angle_is_that_between_the_pivot_and_the_vertical():
    assert hang_angle((0, -3), (0, 0)) == 180
    assert hang_angle((-2, 2), (0, 0)) == pytest.approx(45)


def test_unknown_hardware_names_what_is_known():
    with pytest.raises(RecipeError, match="split-ring, jump-ring"):
        hardware_for("chain", 5, 2)


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


def test_the_note_says_how_much_a_misplaced_hole_turns_the_piece():
    """The hole lies 24 mm or so above the mass: a millimetre aside is atan(1 / 24), 2.4 degrees."""
    plan = hung(flat(DISC))
    (made,) = [note for note in plan.notes if note.code == "eyelet-added"]
    arm = plan.hole.center_mm[1] - plan.center_of_mass_mm[1]
    assert f"turns the piece {math.degrees(math.atan(1 / arm)):.1f} degrees" in made.message
    assert "hang.hole_mm" not in made.message
    small = hung(flat((RED, shapely.Point(0, 0).buffer(10))))
    assert "hang.hole_mm = 3" in next(n.message for n in small.notes if n.code == "eyelet-added")


def test_shear_counts_in_the_strength_of_a_lug_and_a_slot():
    """Wide ears beside a hole near the edge: the section holds, the planes above the hole shear."""
    lug = Lug(hole=5.0, width=40.0, edge=3.5, thickness=2.0)
    assert lug.weakest().factor == pytest.approx(3**-0.5 * 50.0 / lug.shear(90.0))
    slot = Slot(length=2.0, wall=1.6, thickness=4.0)
    others = max(slot.net(90.0), slot.bearing(90.0), slot.bending(90.0))
    assert slot.shear(90.0) / 3**-0.5 > others
    assert slot.weakest().factor == pytest.approx(3**-0.5 * 50.0 / slot.shear(90.0))


@pytest.mark.parametrize(
    "values", [{}, {"hang.hole_mm": 3.0}, {"hang.wall_mm": 4.0}, {"hang.hardware": "strap"}]
)
def test_the_note_of_strength_gives_one_stress_and_the_factor_that_belongs_to_it(values):
    plan = hung(flat((RED, shapely.Point(0, 0).buffer(20))), Recipe().with_values(values))
    (told,) = [item for item in plan.notes if item.code == "hole-strength"]
    pattern = r": ([0-9.]+) MPa\. .* holds ([0-9.]+) there, ([0-9.]+) times"
    stress, holds, times = map(float, re.search(pattern, told.message).groups())
    assert holds / stress == pytest.approx(times, abs=0.06)  # each is told to a tenth
    assert times == pytest.approx(told.size_mm, abs=0.051)
    if not values:
        assert (stress, holds, times) == (7.3, 28.9, 4.0)


def test_in_steps_a_color_weighs_by_all_steps_below_it():
    """The smaller motif lies on the second step: twice the height of the first."""
    large, small = Motif(RED, shapely.box(-9, -5, -1, 5)), Motif(BLUE, shapely.box(3, -5, 7, 5))
    base, heights = shapely.box(-10, -6, 10, 6), Recipe().with_values({"heights.style": "stepped"}).heights
    step = heights.motif_mm
    weights = np.array([240 * heights.base_mm, 80 * step, 40 * 2 * step])
    x, _ = center_of_mass(base, [small, large], heights)
    assert x == pytest.approx(weights @ np.array([0.0, -5.0, 5.0]) / weights.sum())


@pytest.mark.parametrize(("width", "rivals"), [(3.9, 0), (4.1, 1)])
def test_an_opening_of_four_millimetres_is_a_rival_and_a_smaller_one_is_none(width, rivals):
    recipe = Recipe()
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(10, 2, 10 + width, 12)
    bore = _bore(replace(connected(flat(DISC)), base=plate), (0.0, 0.0), recipe.hang, recipe.printer, 0.0)
    assert len(bore.site.rivals) == rivals


def test_of_a_motif_cut_back_crumbs_at_the_hole_go_and_larger_pieces_stay():
    zone = shapely.Point(0, 0).buffer(3, 32)
    crumb, piece, far = (
        shapely.box(2, -0.2, 3.3, 0.2),
        shapely.box(-6, -1, -2, 1),
        shapely.box(9, 0, 9.3, 0.3),
    )
    motif = Motif(RED, shapely.MultiPolygon([crumb, piece, far]))
    (kept,), told = cleared((motif,), zone, "the hanging hole")
    assert kept.polygon.equals(shapely.union(piece.difference(zone), far))
    assert {note.code for note in told} == {"motif-cleared"}
