"""Hand relief on the tops of levels: how high it comes, what carving leaves, how many layers it takes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.model import HandRelief, Sculpted, Slab
from reliefsmith.polygons import as_multi
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.solid.handground import in_one_coverage
from reliefsmith.solid.handtops import CARVED_LAYERS, COARSEST_MM, FINEST_MM, sculpted_steps
from reliefsmith.solid.layergrid import LayerGrid
from reliefsmith.solid.levels import Levels

from .plans import NAVY, RED

WIDTH_MM = 40.0
GRID = LayerGrid(200_000, 200_000)
PLATE, BLOCK = shapely.box(-20, -20, 20, 20), shapely.box(-8, -8, 8, 8)
UP = HeightSettings(style="raised")


def levels(motif_top: float = 2.6, motif_bottom: float = 2.0, *, by_height: bool = True) -> Levels:
    """Return a base of ten layers with a block on it, or in it."""
    slabs = (
        Slab("base", "base", NAVY, PLATE, 0.0, 2.0),
        Slab("red", "motif", RED, as_multi(BLOCK), motif_bottom, motif_top),
    )
    return Levels(in_one_coverage(slabs), round(max(2.0, motif_top) / 0.2), (), by_height)


def field(values: np.ndarray, width_mm: float = WIDTH_MM) -> HandRelief:
    """Return relief over the whole plate."""
    step = width_mm / values.shape[1] / WIDTH_MM
    half = (width_mm / WIDTH_MM - step) / 2
    return HandRelief(values.astype(np.float32), (-half, half), step)


def sculpted(hand: HandRelief, made: Levels | None = None, heights: HeightSettings = UP) -> Levels:
    return drain(sculpted_steps(made or levels(), GRID, heights, hand, WIDTH_MM))


def tops(made: Levels) -> list[tuple[float, float]]:
    """Return the lowest and the highest place of each sculpted top."""
    return [
        (slab.top.lowest_mm, slab.top.highest_mm) for slab in made.slabs if isinstance(slab.top, Sculpted)
    ]


def level(value: float) -> HandRelief:
    return field(np.full((40, 40), value))


@settings(max_examples=15)
@given(st.floats(-4.0, 4.0))
def test_tops_move_by_the_relief_as_far_as_two_layers_stay(value: float) -> None:
    """The base is 2.0 mm high and keeps 0.4 mm of the bed's layers, the block from 2.0 to 2.6 keeps 0.4."""
    found = tops(sculpted(level(value)))
    if abs(value) < 0.001:
        assert found == []
        return
    base, block = max(2.0 + value, 0.4), max(2.6 + value, 2.4)
    assert [high for _, high in found] == pytest.approx([max(base, 2.0), block], abs=0.002)  # under it
    lowest = [min(base, 2.0), min(block, 2.6)]  # lifted tops lean up from their old rims
    assert [low for low, _ in found] == pytest.approx(lowest, abs=0.002)


@pytest.mark.parametrize(("value", "layers"), [(0.1, 13), (0.11, 14), (0.31, 15), (-0.09, 13), (-0.1, 12)])
def test_a_layer_is_printed_if_its_middle_lies_in_the_piece(value: float, layers: int) -> None:
    """Thirteen layers reach 2.6 mm; the middle of the fourteenth is 2.7."""
    assert sculpted(level(value)).layers == layers


@pytest.mark.parametrize(("first", "stays"), [(200_000, 0.4), (300_000, 0.5)])
def test_of_what_lies_on_the_bed_the_first_layer_and_another_stay(first: int, stays: float) -> None:
    made = drain(sculpted_steps(levels(), LayerGrid(first, 200_000), UP, level(-5.0), WIDTH_MM))
    assert [low for low, _ in tops(made)] == pytest.approx([stays, 2.4])


def test_a_part_of_one_layer_is_not_lifted_by_the_rule_that_two_stay() -> None:
    (_, block) = tops(sculpted(level(-0.3), levels(2.2)))
    assert block == (2.2, 2.2)


def test_what_two_layers_held_back_is_told_by_its_area() -> None:
    """The block has 0.6 mm: carved by 0.2 it is as asked, by 0.3 all of its 256 mm2 are held back."""
    assert sculpted(level(-0.2)).notes == ()
    (told,) = sculpted(level(-0.3)).notes
    assert told.code == "hand-limited"
    area = float(told.message.split("over ")[1].split(" mm2")[0])
    assert area == pytest.approx(16.0**2, rel=0.05)
    assert f"{CARVED_LAYERS} layers (0.4 mm)" in told.message


@pytest.mark.parametrize(("count", "step"), [(20, COARSEST_MM), (267, 0.15), (800, FINEST_MM)])
def test_points_of_a_top_lie_as_the_relief_does_within_bounds(count: int, step: float) -> None:
    made = sculpted(field(np.full((count, count), 0.2)))
    assert [slab.top.hand.step_mm for slab in made.slabs] == [step, step]


@pytest.mark.parametrize(
    ("style", "reach", "lifts"),
    [
        ("flush", "within", False),
        ("sunk", "within", False),
        ("flush", "above", True),
        ("raised", "within", True),
    ],
)
def test_within_their_layers_level_tops_are_carved_only(style: str, reach: str, lifts: bool) -> None:
    heights = HeightSettings(style=style, hand_reach=reach)
    assert bool(tops(sculpted(level(0.2), heights=heights))) is lifts
    assert tops(sculpted(level(-0.2), heights=heights)) != []


def test_a_top_that_nobody_sculpted_is_as_it_was() -> None:
    """Relief in the upper left corner of the plate, on the base alone."""
    values = np.full((40, 40), np.nan)
    values[:6, :6] = 0.3
    made = sculpted(field(values))
    assert [isinstance(slab.top, Sculpted) for slab in made.slabs] == [True, False]
    assert made.slabs[1] == levels().slabs[1]
    assert made.layers == 13


@pytest.mark.parametrize(("value", "by_height"), [(0.3, False), (-0.1, True)])
def test_colors_share_a_layer_where_the_base_rises_into_the_next(value: float, by_height: bool) -> None:
    assert sculpted(level(value)).by_height is by_height
    assert not sculpted(level(value), levels(by_height=False)).by_height


def test_work_beside_the_piece_is_told_by_its_share() -> None:
    """A field of 80 mm round a plate of 40: three quarters of it lie on no ground."""
    (told,) = sculpted(field(np.full((80, 80), 0.2), 80.0)).findings
    assert told.code == "hand-off"
    kept = float(told.message.split("kept ")[1].split("%")[0])
    assert kept == pytest.approx(25.0, abs=0.5)
    assert f"{100 - kept:.1f}% lost its ground" in told.message
    assert sculpted(level(0.2)).findings == ()


def test_relief_leaves_what_it_does_not_touch_of_the_levels() -> None:
    before = replace(levels(), jobs=(("base", "red"),), joint_mm=1.0)
    after = sculpted(level(0.2), before)
    assert (after.jobs, after.joint_mm, after.changes) == (before.jobs, before.joint_mm, before.changes)
