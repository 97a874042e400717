"""Dots: compact pieces between the nozzle and the least diameter grow to it; all else is left."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.plan.strokes.dots import enlarged
from reliefsmith.polygons import as_multi, inscribed, polygons_of

from ..arts import BLUE, RED, codes, flat, repaired

LEAST, NOZZLE = 1.0, 0.4


def grown(*pieces: shapely.Geometry) -> list[shapely.Polygon]:
    return enlarged(as_multi(list(pieces)), LEAST, NOZZLE)


def regular(corners: int, radius: float) -> shapely.Polygon:
    turns = 2 * math.pi * np.arange(corners) / corners
    return shapely.Polygon(radius * np.column_stack([np.cos(turns), np.sin(turns)]))


@given(st.integers(3, 12), st.floats(0.21, 0.49), st.floats(0, 90))
def test_a_compact_dot_gets_the_least_diameter_all_round(corners: int, radius: float, turn: float) -> None:
    """By as much as its inner circle lacks, so its shape stays; a triangle's is half as wide as its outer."""
    inner = radius
    dot = shapely.affinity.rotate(regular(corners, inner / math.cos(math.pi / corners)), turn)
    (made,) = grown(dot)
    assert 2 * inscribed(made).radius == pytest.approx(LEAST, abs=0.01)
    assert shapely.hausdorff_distance(made.exterior, dot.exterior) == pytest.approx(
        LEAST / 2 - inner, abs=0.01
    )
    assert shapely.covers(made.buffer(1e-6), dot)


def test_dust_and_dots_that_are_large_enough_are_left() -> None:
    assert grown(shapely.Point(0, 0).buffer(0.19)) == []
    assert len(grown(shapely.Point(0, 0).buffer(0.205))) == 1
    assert len(grown(shapely.Point(0, 0).buffer(0.49))) == 1
    assert grown(shapely.Point(0, 0).buffer(0.5)) == []


@pytest.mark.parametrize(("long", "is_dot"), [(0.95, True), (1.05, False)])
def test_a_dash_is_a_stroke_and_no_dot(long: float, is_dot: bool) -> None:
    """0.5 mm wide; the circle round it is 2.2 times as wide from 0.98 mm of length on."""
    assert (math.hypot(long, 0.5) / 0.5 <= 2.2) is is_dot
    assert (len(grown(shapely.box(0, 0, long, 0.5))) == 1) is is_dot


def test_each_dot_is_judged_by_itself() -> None:
    dots = [shapely.Point(3 * k, 0).buffer(0.3) for k in range(3)]
    made = grown(*dots, shapely.box(0, 5, 9, 5.5), shapely.Point(0, 9).buffer(3))
    assert sorted(round(one.centroid.x) for one in made) == [0, 3, 6]
    assert grown() == []


def test_a_small_dot_is_enlarged_and_dust_is_taken_away():
    dot, dust = shapely.Point(-5, 0).buffer(0.3, 16), shapely.Point(5, 0).buffer(0.1, 16)
    plan = repaired(flat((RED, shapely.box(-20, -20, 20, 20)), (BLUE, dot.union(dust))))
    (motif,) = plan.motifs
    (left,) = polygons_of(motif.polygon)
    width, height = np.diff(np.array(left.bounds).reshape(2, 2), axis=0)[0]
    assert (width, height) == pytest.approx((1.0, 1.0), abs=0.02)
    assert {"dot-enlarged", "area-removed"} <= set(codes(plan.notes))
