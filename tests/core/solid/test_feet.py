"""Feet from the side, and the grip of a handle."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.solid.feet import CHEEK_MM, FIRM_DEG, FLOOR_MM, Stance, built_up, profile
from reliefsmith.solid.grip import MOST_LONG, _grip
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
    sections = [(shapely.box(0, 0, 9, 9), 5), (shapely.box(2, 0, 5, 4), 8)]
    made = built_up("foot", (1, 2, 3), sections, LayerGrid(300_000, 200_000), ()).stack
    assert [(slab.bottom_mm, slab.top) for slab in made.slabs] == [(0.0, 1.1), (1.1, 1.7)]
    assert (
        len(shapely.get_coordinates(made.slabs[0].polygon)) == 7
    )  # two corners of the upper one on its side


def test_a_grip_lies_along_the_longer_side_over_the_widest_place() -> None:
    plate = shapely.affinity.rotate(shapely.affinity.scale(shapely.Point(0, 0).buffer(10), 4, 1), 30)
    grip = _grip(plate, 8.0)
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(grip))
    sides = np.diff(corners[:3], axis=0)
    long = sides[int(np.argmax(np.hypot(*sides.T)))]
    assert np.hypot(*sides.T).max() == pytest.approx(MOST_LONG * 8.0, abs=0.1)
    assert np.degrees(np.arctan2(*long[::-1])) % 180 == pytest.approx(30, abs=1)
    assert shapely.covers(plate, grip)


def test_a_grip_is_as_short_as_the_plate_needs_down_to_a_disc() -> None:
    short = _grip(shapely.Point(0, 0).buffer(9), 8.0)
    assert short.bounds[2] - short.bounds[0] == pytest.approx(17.0, abs=1.1)
    disc = _grip(shapely.Point(0, 0).buffer(4.2), 8.0)
    assert disc.area == pytest.approx(16 * math.pi, rel=0.02)


def test_a_piece_thinner_than_its_grip_is_refused() -> None:
    with pytest.raises(GeometryError, match="too small for a grip 8 mm thick"):
        _grip(shapely.box(-40, -3.9, 40, 3.9), 8.0)
