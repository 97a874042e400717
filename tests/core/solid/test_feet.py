"""Feet from the side."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.solid.feet import CHEEK_MM, FIRM_DEG, FLOOR_MM, Section, Stance, built_up, profile
from reliefsmith.solid.layergrid import LayerGrid

leans = st.floats(0.0, 35.0)


@given(leans, st.floats(8.0, 20.0), st.floats(2.0, 6.0))
def test_a_slot_is_as_wide_and_deep_as_asked_with_plastic_all_round(
    lean: float, slot: float, thick: float
) -> None:
    """Even where the foot need not reach far."""
    stance = Stance(thick, 0.2, slot, lean, 0.1)
    shape = profile(stance, *stance.firm_mm)
    turn = math.radians(lean)
    along, across = np.array((-math.sin(turn), math.cos(turn))), np.array((math.cos(turn), math.sin(turn)))
    end = np.array((0.0, FLOOR_MM))

    def gap_at(depth: float) -> float:
        middle = end + depth * along
        beyond = shapely.difference(shapely.LineString([middle - 90 * across, middle + 90 * across]), shape)
        return min(shapely.get_parts(beyond), key=shapely.Point(middle).distance).length

    assert gap_at(0.05) == pytest.approx(thick + 0.4, abs=0.01)
    assert gap_at(0.1 * slot) == pytest.approx(thick + 0.4, abs=0.01)
    assert shapely.distance(shape, shapely.Point(end + 0.01 * along)) == pytest.approx(0.01, abs=0.002)
    top = shape.bounds[3] - 0.1
    level = shapely.intersection(shape, shapely.LineString([(-90, top), (90, top)]))
    assert len(shapely.get_parts(level)) == 2
    assert min(shapely.length(shapely.get_parts(level))) >= CHEEK_MM / 2


@given(leans, st.floats(5.0, 80.0))
def test_a_foot_reaches_so_far_that_a_tilt_of_ten_degrees_falls_back(lean: float, center: float) -> None:
    stance = Stance(3.0, 0.2, 8.0, lean, center)
    shape = profile(stance, *stance.firm_mm)
    x, y = stance.center
    reach = y * math.tan(math.radians(FIRM_DEG))
    assert shape.bounds[0] <= x - reach + 0.01
    assert shape.bounds[2] >= x + reach - 0.01
    assert shape.bounds[1] == 0.0


def test_sections_that_stand_on_each_other_share_their_vertices() -> None:
    sections = [Section(shapely.box(0, 0, 9, 9), 5), Section(shapely.box(2, 0, 5, 4), 8)]
    made = built_up("foot", (1, 2, 3), sections, LayerGrid(300_000, 200_000), ()).stack
    assert [(slab.bottom_mm, slab.top) for slab in made.slabs] == [(0.0, 1.1), (1.1, 1.7)]
    corners = len(shapely.get_coordinates(made.slabs[0].polygon))
    assert corners == 7  # two corners of the upper one on its side


def test_what_others_take_is_left_out_of_a_section() -> None:
    taken = (shapely.box(1, 1, 4, 4), shapely.box(3, 3, 12, 6))
    (slab,) = built_up(
        "lid", (1, 2, 3), [Section(shapely.box(0, 0, 9, 9), 5, taken)], LayerGrid(200_000, 200_000), ()
    ).stack.slabs
    assert slab.polygon.area == 81 - 9 - 6 * 3 + 1
    assert not shapely.intersects(slab.polygon, shapely.Point(2, 2))
