"""Holes cut at given places: what is grown under them, what gives way, what is measured."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.model import Motif, Plan
from reliefsmith.plan.hang.bore import Bore, bored, cleared, largest, rounded, wall_at
from reliefsmith.plan.hang.hardware import hardware_for
from reliefsmith.plan.hang.holeplace import Place, Site
from reliefsmith.polygons import snapped
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HangSettings, HeightSettings

from ..arts import BLACK, BLUE, RED, assert_in_register, flat, hung
from .kinds import DISC, found, noted

pytestmark = pytest.mark.usefixtures("unadvised")

NOTHING = shapely.MultiPolygon()
ROUND = shapely.transform(shapely.Point(0, 0).buffer(20, 64), snapped)


def cut_at(*places: tuple[float, float], motif: shapely.Geometry | None = None, **site: float) -> Plan:
    """Return a disc of 20 mm with holes of 5 mm and walls of 2.5 at places."""
    plan = plan_of(ROUND, *([(BLUE, motif)] if motif is not None else []))
    hang = HangSettings(holes=len(places))
    bore = Bore(hang, None, Site(ROUND, NOTHING, NOTHING, (0.0, 0.0), 5.0, 2.5, (), **site))
    return bored(plan, [Place(x, y, 0.0, 0.0) for x, y in places], bore, HeightSettings(style="raised"))


def test_inside_the_base_a_hole_only_takes_away() -> None:
    plan = cut_at((0.0, 10.0))
    assert plan.hole.origin == "inside"
    assert plan.hole.wall_mm == pytest.approx(20 - 10 - 2.5, abs=0.01)
    assert ROUND.area - plan.base.area == pytest.approx(math.pi * 2.5**2, rel=0.01)
    assert plan.hole.rest_mm == pytest.approx((0.0, 12.5), abs=0.01)
    assert plan.hole.hardware == "split-ring"


def test_at_the_edge_an_eyelet_is_added_with_its_wall_and_a_filleted_neck() -> None:
    plan = cut_at((0.0, 21.0))
    eyelet = shapely.Point(0, 21).buffer(5.0, 64)
    assert plan.hole.origin == "eyelet"
    assert plan.hole.wall_mm == pytest.approx(2.5, abs=0.02)
    assert plan.base.geom_type == "Polygon"
    plain = shapely.union(ROUND, eyelet).difference(shapely.Point(0, 21).buffer(2.5, 64))
    assert plan.base.area > plain.area + 0.5  # two fillets in the corners beside it
    assert plan.base.difference(plain.buffer(1.5)).is_empty


def test_a_center_of_mass_is_that_of_the_bored_piece() -> None:
    """A disc of 20 mm without one of 2.5 mm 10 mm above its middle: y = -2.5^2 10 / (20^2 - 2.5^2)."""
    _, y = cut_at((0.0, 10.0)).center_of_mass_mm
    assert y == pytest.approx(-6.25 * 10 / (400 - 6.25), rel=0.02)


def test_two_holes_hang_the_piece_from_the_middle_between_them() -> None:
    plan = cut_at((-6.0, 12.0), (10.0, 12.0))
    x, y = plan.center_of_mass_mm
    wanted = math.degrees(math.atan2(2.0 - x, 12.0 - y))
    assert [hole.hang_angle_deg for hole in plan.holes] == pytest.approx([wanted] * 2, abs=0.005)


def test_a_ring_bears_away_from_the_mass_and_on_two_holes_straight_up() -> None:
    """A hole at (6, 8): the mass lies a bit below the middle, so nearly along (.6, .8)."""
    plan = cut_at((6.0, 8.0))
    away = np.subtract((6.0, 8.0), plan.center_of_mass_mm)
    wanted = np.array((6.0, 8.0)) + 2.5 * away / np.hypot(*away)
    assert plan.hole.rest_mm == pytest.approx(wanted, abs=0.002)
    assert [hole.rest_mm for hole in cut_at((-6.0, 8.0), (6.0, 8.0)).holes] == [(-6.0, 10.5), (6.0, 10.5)]


def test_a_slot_lies_level_and_bears_straight_up() -> None:
    plan = cut_at((3.0, 10.0), stretch=4.0)
    assert plan.hole.slot_mm == (13.0, 5.0)
    assert plan.hole.rest_mm == (3.0, 12.5)
    (ring,) = plan.base.interiors
    left, low, right, high = ring.bounds
    assert (right - left, high - low) == pytest.approx((13.0, 5.0), abs=0.01)


def test_a_hole_for_a_screw_is_countersunk() -> None:
    screw = hardware_for("screw", 0, 0)
    site = Site(ROUND, NOTHING, NOTHING, (0.0, 0.0), 5.0, 2.5, (), head=8.6, head_wall=1.2)
    bore = Bore(HangSettings(hardware="screw"), screw, site)
    plan = bored(plan_of(ROUND), [Place(0.0, 10.0, 0.0, 0.0)], bore, HeightSettings(style="raised"))
    assert {pocket.kind for pocket in plan.pockets} == {"countersink"}
    assert "countersunk" in noted(plan)
    assert plan.hole.hardware == "screw"


def test_a_motif_keeps_off_the_hole_by_what_stays_clear() -> None:
    plan = cut_at((0.0, 10.0), motif=shapely.box(-8, 2, 8, 16))
    (motif,) = plan.motifs
    assert motif.polygon.distance(shapely.Point(0, 10).buffer(2.5)) == pytest.approx(0.3, abs=0.02)
    assert "motif-cleared" in noted(plan)
    assert_in_register(plan)


def test_the_wall_is_the_least_way_to_another_edge() -> None:
    hole, other = shapely.Point(0, 8).buffer(2, 32), shapely.Point(0, 0).buffer(3, 32)
    body = ROUND.difference(hole).difference(other)
    opening = next(shapely.Polygon(ring) for ring in body.interiors if ring.distance(hole) < 1e-9)
    assert wall_at(body, opening.exterior, opening) == pytest.approx(3.0, abs=0.01)
    assert wall_at(body, shapely.Point(0, 10), opening) == pytest.approx(7.0, abs=0.02)


def test_of_pieces_alike_the_largest_and_of_points_the_next_on_the_grid() -> None:
    small, large = shapely.box(0, 0, 2, 2), shapely.box(9, 0, 12, 2)
    assert largest(shapely.MultiPolygon([small, large])).equals(large)
    assert rounded((1.23449, -0.0006)) == (1.234, -0.001)


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
