"""How the plan's cost grows with the artwork: the same motif repeated on a sheet."""

from __future__ import annotations

import time

import numpy as np
import pytest
import shapely

from oracles import coverage_faults
from reliefsmith.polygons import grow, polygons_of

from .arts import BLUE, RED, YELLOW, assert_in_register, connected, flat, hung

STEP_MM = 20.0


def sheet(side: int):
    """Return side x side badges of a disc, a star and a ring of dots, about 300 vertices each."""
    discs, stars, dots = [], [], []
    for index in range(side * side):
        x, y = STEP_MM * (index % side), STEP_MM * (index // side)
        discs.append(shapely.Point(x, y).buffer(8.8, quad_segs=16))
        angles = np.arange(20) * np.pi / 10
        radii = np.where(np.arange(20) % 2 == 0, 5.0, 2.0)
        star = np.column_stack([np.cos(angles), np.sin(angles)]) * radii[:, None]
        stars.append(shapely.Polygon(star + np.array([x, y])))
        places = np.arange(8) * np.pi / 4
        dots += [shapely.Point(x + 6.8 * np.cos(a), y + 6.8 * np.sin(a)).buffer(0.45) for a in places]
    rows = [STEP_MM * row for row in range(side)]
    bars = [shapely.box(0, y - 1, (side - 1) * STEP_MM, y + 1) for y in rows]
    base = shapely.union_all([*discs, *bars])
    return flat((RED, base), (BLUE, shapely.union_all(stars)), (YELLOW, shapely.union_all(dots)))


def test_a_sheet_of_sixteen_badges_becomes_one_sound_piece():
    plan = hung(sheet(4))
    assert plan.base.geom_type == "Polygon"
    assert_in_register(plan)
    dots = next(motif.polygon for motif in plan.motifs if motif.color == YELLOW)
    assert len(polygons_of(dots)) == 16 * 8
    assert coverage_faults([motif.polygon for motif in plan.motifs]) == ()


@pytest.mark.bench
def test_the_cost_of_a_plan_grows_little_faster_than_the_artwork():
    """Nine times the artwork in at most 2.5 times nine times the time (process time, one run each)."""

    def seconds(side: int) -> float:
        areas = sheet(side)
        start = time.process_time()
        connected(areas)
        return time.process_time() - start

    seconds(2)  # imports and caches
    small, large = seconds(2), seconds(6)
    assert large <= 2.5 * 9 * small


def test_growing_a_border_and_shrinking_it_again_is_a_closing_of_every_badge():
    areas = sheet(2)
    art = shapely.union_all(areas.polygons)
    assert art.difference(grow(grow(art, 1.0), -1.0).buffer(0.03)).area < 1e-6
