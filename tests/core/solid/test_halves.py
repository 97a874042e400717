"""Sunk motifs face down: two plates that fit each other."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.errors import GeometryError
from reliefsmith.polygons import polygons_of
from reliefsmith.solid.bed import APART_MM
from reliefsmith.solid.halves import LAP_MM, PLATE_CLEARANCE_MM
from reliefsmith.solid.pegs import CLEARANCE_MM, PEG_WALL_MM

from .plans import GOLD, NAVY, RED, WHITE, pictures, plan_of
from .printed import assert_prints, made, seen_from_front

BASE = shapely.box(-25, -15, 25, 15) - shapely.box(-2, 10, 2, 13)
MOTIF = shapely.box(-10, -8, 0, 6)
PLAN = plan_of(BASE, (RED, MOTIF))
SPLIT = {"style": "sunk", "face": "down", "split": "pegs"}


def _sections(stacked, part):
    return [slab for slab in stacked.slabs if slab.part == part]


def test_the_plates_are_as_high_as_the_piece_together() -> None:
    stacked, _ = made(PLAN, **SPLIT)
    front, recess, pegs = _sections(stacked, "base")
    below, bored = _sections(stacked, "back")
    (floor,) = _sections(stacked, "red")
    assert (front.top, recess.top, pegs.bottom_mm) == (0.6, 1.0, 1.0)
    assert (below.bottom_mm, bored.top, floor.bottom_mm, floor.top) == (0.0, 1.0, 1.0, 1.4)
    assert stacked.piece_size_mm == (50.0, 30.0, 2.0)
    assert front.polygon.area == pytest.approx(BASE.area - MOTIF.area)


def test_floors_lap_under_the_windows_and_slide_into_their_recess() -> None:
    stacked, _ = made(PLAN, **SPLIT)
    recess = next(slab for slab in stacked.piece if slab.part == "base" and slab.bottom_mm == 1.0)
    floor = next(slab for slab in stacked.piece if slab.part == "red").polygon
    corners = (4 - 3.141592653589793) * LAP_MM**2
    assert floor.area == pytest.approx((10 + 2 * LAP_MM) * (14 + 2 * LAP_MM) - corners, abs=0.02)
    assert floor.distance(recess.polygon) == pytest.approx(PLATE_CLEARANCE_MM, abs=0.003)


def test_pegs_fit_their_holes_inside_the_plates() -> None:
    stacked, _ = made(PLAN, **SPLIT)
    pegs = next(s for s in stacked.piece if s.part == "base" and s.top == 1.0).polygon
    whole = next(s for s in stacked.piece if s.part == "back" and s.bottom_mm == 0.0).polygon
    bored = next(s for s in stacked.piece if s.part == "back" and s.top == 1.0).polygon
    holes = whole.difference(bored)
    assert len(polygons_of(pegs)) == len(polygons_of(holes)) == 3
    for peg, hole in zip(
        sorted(polygons_of(pegs), key=lambda p: p.bounds),
        sorted(polygons_of(holes), key=lambda p: p.bounds),
        strict=True,
    ):
        assert peg.within(hole)
        assert peg.exterior.distance(hole.exterior) == pytest.approx(CLEARANCE_MM, abs=0.012)
        for avoided in (BASE.boundary, MOTIF.boundary):
            assert hole.distance(avoided) > PEG_WALL_MM - 0.02


def test_the_plates_lie_side_by_side_and_print_one_after_the_other() -> None:
    stacked, parts = made(PLAN, **SPLIT)
    front = [part for part in parts if part.name == "base"]
    back = [part for part in parts if part.name != "base"]
    assert stacked.jobs == (("base",), ("back", "red"))
    gap = min(p.vertices[:, 1].min() for p in back) - max(p.vertices[:, 1].max() for p in front)
    assert gap == pytest.approx(APART_MM)
    assert {part.role for part in parts if part.name in ("base", "back")} == {"base"}
    assert stacked.by_height
    assert [(c.layer, c.color) for c in stacked.color_changes] == [(6, RED)]
    dx, dy = stacked.back_at_mm
    assert stacked.on_piece((3.0 + dx, 1.0 + dy, 0.2)) == pytest.approx((3.0, 1.0, 0.2))
    assert stacked.on_piece((-3.0, 1.0, 0.2)) == pytest.approx((3.0, 1.0, 1.8))


def test_a_piece_that_motifs_cut_off_stands_on_the_back_plate() -> None:
    ring = shapely.set_precision(shapely.Point(-8, 0).buffer(7) - shapely.Point(-8, 0).buffer(4), 0.001)
    stacked, parts = made(plan_of(BASE, (RED, ring)), **SPLIT)
    island = _sections(stacked, "back")[-1]
    assert (island.bottom_mm, island.top) == (1.0, 2.0)
    assert island.polygon.area == pytest.approx(shapely.Point(0, 0).buffer(4).area, rel=0.01)
    assert not stacked.by_height
    assert len(polygons_of(_sections(stacked, "base")[0].polygon)) == 1
    assert_prints(stacked, parts)


def test_no_room_for_pegs_is_a_finding() -> None:
    small = plan_of(shapely.box(0, 0, 12, 12), (RED, shapely.box(2, 2, 10, 10)))
    stacked, parts = made(small, **SPLIT)
    assert [item.code for item in stacked.findings] == ["pegs-missing"]
    assert_prints(stacked, parts)
    roomy, _ = made(PLAN, **SPLIT)
    assert roomy.findings == ()


def test_a_base_too_low_for_two_plates_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"base_mm 1 is too low"):
        made(PLAN, base_mm=1.0, **SPLIT)


@given(plan=pictures())
@settings(max_examples=20)
def test_every_picture_fits_together_and_shows_its_colors(plan) -> None:
    stacked, parts = made(plan, **SPLIT)
    assert_prints(stacked, parts)
    seen = seen_from_front(stacked)
    for motif in plan.motifs:
        assert seen[motif.color].symmetric_difference(motif.polygon).area < 0.3
    slabs = stacked.piece
    for number, one in enumerate(slabs):
        for other in slabs[number + 1 :]:
            if min(one.top, other.top) > max(one.bottom_mm, other.bottom_mm):
                assert one.polygon.intersection(other.polygon).area < 1e-6, (one.part, other.part)


def test_the_colors_of_a_plan_are_kept() -> None:
    plan = plan_of(BASE, (RED, MOTIF), (GOLD, shapely.box(2, -8, 8, 0)), (WHITE, shapely.box(10, -8, 16, 0)))
    stacked, _ = made(plan, **SPLIT)
    assert {slab.color for slab in stacked.slabs} == {NAVY, RED, GOLD, WHITE}


@pytest.mark.parametrize(("wall", "stands"), [(0.3, False), (0.38, False), (0.42, True), (0.8, True)])
def test_a_wall_between_two_recesses_that_no_nozzle_lays_is_left_out(wall: float, stands: bool) -> None:
    """Each recess reaches lap and play, 0.8 mm, beyond its window; between the two is what is left."""
    gap = wall + 2 * (LAP_MM + PLATE_CLEARANCE_MM)
    windows = [shapely.box(-8, -8, 0, 8), shapely.box(gap, -8, gap + 8, 8)]
    stacked, parts = made(plan_of(BASE, (RED, windows[0]), (GOLD, windows[1])), **SPLIT)
    _, contact, *_ = _sections(stacked, "base")
    across = shapely.LineString([(-gap, 0), (0, 0)])  # printed mirrored
    assert contact.polygon.intersection(across).length == pytest.approx(wall if stands else 0.0, abs=0.01)
    front = _sections(stacked, "base")[0]
    assert front.polygon.intersection(across).length == pytest.approx(gap)  # the front shows it all the same
    assert_prints(stacked, parts)
