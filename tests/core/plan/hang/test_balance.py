"""Centre of mass and the angle at which a piece hangs; handbook centroids stand in `tests/outside`."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.model import Motif, Pocket
from reliefsmith.plan.hang.balance import STEADY_MM, center_of_mass, hang_angle, steadied
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HeightSettings, settled

from ..arts import BLUE, RED, flat, hung

PLATE = shapely.box(-10, -5, 10, 5)
BLOCK = Motif(RED, as_multi(shapely.box(4, -2, 8, 2)))


def test_motifs_weigh_by_their_height():
    """Base 20 x 10 x 2 at the origin; motif 4 x 4 x 0.6 at (6, 0): x = 16 0.6 6 / (200 2 + 16 0.6)."""
    recipe = Recipe().with_values({"hang.hardware": "none", "base.border_mm": 0.0})
    plan = hung(flat((RED, shapely.box(-10, -5, 10, 5)), (BLUE, shapely.box(4, -2, 8, 2))), recipe)
    x, y = center_of_mass(
        plan.base, plan.motifs, settled(recipe.heights, recipe.base, recipe.printer, len(plan.motifs))[0]
    )
    assert x == pytest.approx(16 * 0.6 * 6 / (400 + 9.6), abs=1e-6)
    assert y == pytest.approx(0, abs=1e-9)
    assert plan.center_of_mass_mm == (round(x, 3), round(y, 3))


def test_in_steps_a_color_weighs_by_all_steps_below_it():
    """The smaller motif lies on the second step: twice the height of the first."""
    large, small = Motif(RED, shapely.box(-9, -5, -1, 5)), Motif(BLUE, shapely.box(3, -5, 7, 5))
    base, heights = shapely.box(-10, -6, 10, 6), Recipe().with_values({"heights.style": "stepped"}).heights
    step = heights.motif_mm
    weights = np.array([240 * heights.base_mm, 80 * step, 40 * 2 * step])
    x, _ = center_of_mass(base, [small, large], heights)
    assert x == pytest.approx(weights @ np.array([0.0, -5.0, 5.0]) / weights.sum())


@pytest.mark.parametrize(("style", "sign"), [("raised", 1), ("flush", 0), ("sunk", -1)])
def test_a_motif_adds_nothing_where_it_is_level_and_takes_where_it_is_sunk(style: str, sign: int) -> None:
    heights = HeightSettings(style=style, base_mm=2.0, motif_mm=0.5)
    x, y = center_of_mass(PLATE, [BLOCK], heights)
    assert x == pytest.approx(sign * 16 * 0.5 * 6 / (200 * 2.0 + sign * 16 * 0.5))
    assert y == 0.0


def test_a_pocket_is_missing_and_an_inlay_fills_it_again() -> None:
    """16 mm2 at x = 6 are 1 mm less deep: x = -16 x 6 / (200 x 2 - 16)."""
    heights, hole = HeightSettings(style="raised", base_mm=2.0), shapely.box(4, -2, 8, 2)
    open_, laid = Pocket("magnet", hole, 1.0, "back"), Pocket("picture", hole, 1.0, "back", BLUE)
    assert center_of_mass(PLATE, [], heights, [open_])[0] == pytest.approx(-16 * 6 / (400 - 16))
    assert center_of_mass(PLATE, [], heights, [laid]) == (0.0, 0.0)


@given(st.floats(-200, 200), st.floats(-200, 200))
def test_one_hole_is_placed_for_a_centre_at_most_half_a_step_off(x: float, y: float) -> None:
    center = steadied((x, y))
    for value, step, raw in zip(center, STEADY_MM, (x, y), strict=True):
        assert abs(value - raw) <= step / 2 + 1e-9
        assert value / step == pytest.approx(round(value / step), abs=1e-6)
    assert steadied(center) == center
    assert math.copysign(1.0, steadied((-0.01, -0.2))[0]) == 1.0  # no minus before a nought


def test_the_angle_is_that_between_the_pivot_and_the_vertical():
    assert hang_angle((0, -3), (0, 0)) == 180
    assert hang_angle((-2, 2), (0, 0)) == pytest.approx(45)


@given(st.floats(-170, 170), st.floats(1, 90))
def test_a_piece_turns_until_its_mass_hangs_below_the_pivot(turn: float, arm: float) -> None:
    """The angle between the way to the pivot and the upright, the same for both hands."""
    aside, up = arm * math.sin(math.radians(turn)), arm * math.cos(math.radians(turn))
    assert hang_angle((3 + aside, 7 + up), (3, 7)) == pytest.approx(abs(turn), abs=1e-6)
    assert hang_angle((3 - aside, 7 + up), (3, 7)) == pytest.approx(abs(turn), abs=1e-6)
