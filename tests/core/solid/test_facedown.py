"""Flush motifs face down, in one print and print after print."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.solid.facedown import JOB_CLEARANCE_MM

from .plans import GOLD, NAVY, RED, WHITE, pictures, plan_of
from .printed import assert_prints, made, seen_from_front

BASE = shapely.box(-20, -15, 20, 15)
LEFT, RIGHT = shapely.box(-16, -10, 0, 10), shapely.box(0, -10, 14, 2)
PLAN = plan_of(BASE, (RED, LEFT), (GOLD, RIGHT))
DOWN = {"style": "flush", "face": "down"}


def test_the_first_layer_belongs_to_the_motifs() -> None:
    stacked, parts = made(PLAN, filaments=4, first_layer_mm=0.3, **DOWN)
    assert stacked.layer_tops_mm[:3] == (0.3, 0.5, 0.7)
    # 0.6 mm lies halfway between the tops 0.5 and 0.7: a tie goes up, as everywhere.
    assert [(s.part, s.bottom_mm, s.top) for s in stacked.slabs] == [
        ("base", 0.0, 0.7),
        ("base", 0.7, 2.1),
        ("red", 0.0, 0.7),
        ("gold", 0.0, 0.7),
    ]
    assert [part.vertices[:, 2].min() for part in parts] == [0.0, 0.0, 0.0]


def test_parts_are_mirrored_and_the_piece_is_not() -> None:
    stacked, parts = made(PLAN, filaments=4, **DOWN)
    gold = next(part for part in parts if part.name == "gold")
    assert (gold.vertices[:, 0].min(), gold.vertices[:, 0].max()) == (-14.0, 0.0)
    assert (gold.vertices[:, 1].min(), gold.vertices[:, 1].max()) == (-10.0, 2.0)
    (seen,) = [slab for slab in stacked.piece if slab.part == "gold"]
    assert seen.polygon.bounds == (0.0, -10.0, 14.0, 2.0)
    assert (seen.bottom_mm, seen.top) == (1.4, 2.0)
    assert stacked.on_piece((-7.0, 1.0, 0.0)) == (7.0, 1.0, 2.0)


def test_colors_that_begin_together_are_counted_as_changes() -> None:
    stacked, _ = made(PLAN, filaments=4, **DOWN)
    assert [(c.layer, c.z_mm, c.color) for c in stacked.color_changes] == [(1, 0.0, GOLD), (1, 0.0, NAVY)]
    assert not stacked.by_height
    assert stacked.jobs == ()


def test_with_one_filament_every_color_is_one_layer_and_a_print_of_its_own() -> None:
    stacked, _ = made(PLAN, filaments=1, **DOWN)
    assert stacked.jobs == (("gold",), ("red",), ("base",))  # the smaller one first
    assert {(s.bottom_mm, s.top) for s in stacked.slabs if s.role == "motif"} == {(0.0, 0.2)}
    assert {"printed-in-turn", "heights-snapped"} <= {item.code for item in stacked.notes}


def test_what_is_printed_later_leaves_the_clearance_once() -> None:
    stacked, _ = made(PLAN, filaments=1, **DOWN)
    first = {slab.part: slab.polygon for slab in stacked.slabs if slab.bottom_mm == 0.0}
    assert first["gold"].area == pytest.approx(RIGHT.area)  # the first print keeps its size
    assert first["red"].area == pytest.approx(LEFT.area - JOB_CLEARANCE_MM * 12.0, abs=0.02)
    for one, other in (("gold", "red"), ("gold", "base"), ("red", "base")):
        assert first[one].distance(first[other]) == pytest.approx(
            JOB_CLEARANCE_MM, abs=0.003
        )  # chords at corners


def test_a_motif_that_covers_the_base_leaves_no_rest() -> None:
    stacked, parts = made(plan_of(BASE, (WHITE, BASE)), filaments=2, **DOWN)
    assert [(s.part, s.bottom_mm, s.top) for s in stacked.slabs] == [("base", 0.6, 2.0), ("white", 0.0, 0.6)]
    assert stacked.by_height
    assert [(c.layer, c.color) for c in stacked.color_changes] == [(4, NAVY)]
    assert_prints(stacked, parts)


@pytest.mark.parametrize("filaments", [1, 4])
@given(plan=pictures())
@settings(max_examples=20)
def test_every_picture_is_closed_apart_and_seen_from_the_front(filaments: int, plan) -> None:
    stacked, parts = made(plan, filaments=filaments, **DOWN)
    assert_prints(stacked, parts)
    seen = seen_from_front(stacked)
    for motif in plan.motifs:
        shape = seen.get(motif.color, shapely.MultiPolygon())
        # An octagon cut into a slanted edge bends it by up to two steps of the 1 um grid.
        assert shape.difference(motif.polygon.buffer(0.002)).area < 1e-6
        missing = motif.polygon.area - shape.area
        most = 0.2 if filaments > 1 else 0.2 + JOB_CLEARANCE_MM * motif.polygon.length
        assert missing < most
    if plan.motifs:
        bed = shapely.union_all([slab.polygon for slab in stacked.slabs])
        assert np.allclose(bed.bounds, shapely.affinity.scale(plan.base, -1, 1, origin=(0, 0)).bounds)


def test_motifs_higher_than_the_base_leave_it_one_layer() -> None:
    plan = plan_of(shapely.box(0, 0, 30, 20), (RED, shapely.box(5, 5, 20, 15)))
    made_of, _ = made(plan, filaments=4, base_mm=1.0, motif_mm=3.0, **DOWN)
    (motif,) = [slab for slab in made_of.slabs if slab.role == "motif"]
    assert motif.highest_mm == pytest.approx(made_of.layer_tops_mm[-2])
    whole = [slab for slab in made_of.slabs if slab.part == "base" and slab.polygon.area == 600]
    assert [slab.bottom_mm for slab in whole] == [pytest.approx(made_of.layer_tops_mm[-2])]
