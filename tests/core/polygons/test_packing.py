"""Packing: spacing and bed hold, turns are what they say, the same places every time."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.polygons.packing import Packer, Packing, least_gap_mm, pack, placed_shape

BED = (120.0, 90.0)


def star(seed: int, size: float) -> shapely.Polygon:
    """A ragged outline off the origin, about twice `size` wide."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 11, endpoint=False)
    reach = size * rng.uniform(0.35, 1, 11)
    points = np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])
    return shapely.Polygon(np.round(points + rng.uniform(-30, 30, 2), 3))


def hold(packing: Packing, outlines: list, bed: tuple[float, float], spacing: float) -> None:
    """Measure with shapely, not in cells, what a packing must hold."""
    room = shapely.box(0, 0, *bed).buffer(1e-6)
    for placed in packing.by_bed():
        shapes = [placed_shape(outlines[one.index], one) for one in placed]
        assert all(room.covers(shape) for shape in shapes)
        assert least_gap_mm(shapes) >= spacing - 1e-6
    assert sorted([*(one.index for one in packing.placed), *packing.left]) == list(range(len(outlines)))


@settings(max_examples=12, deadline=None)
@given(
    seeds=st.lists(st.integers(0, 10_000), min_size=1, max_size=9),
    spacing=st.sampled_from([0.5, 2.0, 5.0, 7.3]),
    cell=st.sampled_from([0.7, 1.0, 2.5]),
    turns=st.sampled_from([4, 8]),
)
def test_spacing_and_bed_hold_whatever_the_outlines(
    seeds: list[int], spacing: float, cell: float, turns: int
) -> None:
    outlines = [star(seed, 8 + seed % 50) for seed in seeds]
    packing = pack(outlines, BED, spacing_mm=spacing, cell_mm=cell, turns=turns)
    hold(packing, outlines, BED, spacing)
    assert packing == pack(outlines, BED, spacing_mm=spacing, cell_mm=cell, turns=turns)


@settings(max_examples=8, deadline=None)
@given(
    loads=st.lists(st.lists(st.integers(0, 3), min_size=1, max_size=12), min_size=2, max_size=4),
    turns=st.sampled_from([4, 8]),
)
def test_what_was_laid_before_changes_nothing(loads: list[list[int]], turns: int) -> None:
    """Kinds in any number and order, as counts of a quote: a packer that remembers and a fresh one agree."""
    kinds = [star(seed, 20 + 8 * seed) for seed in range(4)]
    packer = Packer(BED, spacing_mm=2.0, cell_mm=1.0, turns=turns)
    for load in loads:
        outlines = [kinds[kind] for kind in load]
        packing = packer.pack(outlines)
        hold(packing, outlines, BED, 2.0)
        assert packing == pack(outlines, BED, spacing_mm=2.0, cell_mm=1.0, turns=turns)


def test_pieces_that_just_fit_fill_the_bed_to_its_edges() -> None:
    """Two squares of 97.5 mm with 5 mm between them are just 200 mm; a fifth needs another bed."""
    squares = [shapely.box(0, 0, 97.5, 97.5)] * 5
    packing = pack(squares, (200, 200), spacing_mm=5)
    hold(packing, squares, (200, 200), 5)
    assert [len(placed) for placed in packing.by_bed()] == [4, 1]
    assert pack(squares[:1], (97.5, 97.5), spacing_mm=5).beds == 1


@pytest.mark.parametrize(("turns", "fits"), [(4, False), (8, True)])
def test_a_long_piece_fits_across_the_bed_only_by_half_a_right_angle(turns: int, fits: bool) -> None:
    """110 x 4 mm on 90 x 90 mm: its box at 45 degrees is (110 + 4) / sqrt 2 = 80.6 mm wide."""
    packing = pack([shapely.box(0, 0, 110, 4)], (90, 90), spacing_mm=5, turns=turns)
    assert (packing.beds, packing.left) == ((1, ()) if fits else (0, (0,)))


def test_a_small_piece_may_lie_in_the_opening_of_a_large_one() -> None:
    frame = shapely.box(0, 0, 80, 80).difference(shapely.box(10, 10, 70, 70))
    packing = pack([frame, shapely.box(0, 0, 40, 40)], (80, 80), spacing_mm=5)
    hold(packing, [frame, shapely.box(0, 0, 40, 40)], (80, 80), 5)
    assert packing.beds == 1


def test_halves_that_interlock_are_turned_into_each_other() -> None:
    """Two triangles of half a square each: as boxes they would need two beds."""
    half = shapely.Polygon([(0, 0), (86, 0), (0, 86)])
    packing = pack([half, half], (100, 100), spacing_mm=5)
    hold(packing, [half, half], (100, 100), 5)
    assert packing.beds == 1
    assert abs(packing.placed[0].turn_deg - packing.placed[1].turn_deg) == 180


def test_nothing_takes_no_bed() -> None:
    assert pack([], BED, spacing_mm=5) == Packing((), ())


@pytest.mark.parametrize("turns", [4, 8])
def test_outlines_drawn_from_other_vertices_lie_as_those_of_the_same_bytes(turns: int) -> None:
    """What is free for one more of the same outline is carried on, for another one it is looked for anew."""
    kite = np.array([(0, 0), (17, 9), (4, 31), (-11, 12)], float)
    drawn = [shapely.Polygon(np.roll(kite, turn, axis=0)) for turn in range(4)]
    assert len({shapely.to_wkb(outline) for outline in drawn}) == 4
    one, other = (
        pack(outlines, (110.0, 90.0), spacing_mm=3.0, turns=turns)
        for outlines in ([drawn[0]] * 20, [drawn[number % 4] for number in range(20)])
    )
    assert one == other
    assert one.beds == 2
