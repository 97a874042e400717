"""Shapes into which a base is cut: by lines as they are drawn, for a bed so that each fits."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from oracles import coverage_faults
from reliefsmith.errors import GeometryError
from reliefsmith.plan.division.bedcells import (
    CRUMB_MM,
    MOST_CELLS,
    Room,
    cells_for_bed,
    cells_of_lines,
    without_necks,
)
from reliefsmith.polygons import as_multi, snapped
from reliefsmith.recipe.sections import CutLine

NOTHING = shapely.MultiPolygon()
PLATE = shapely.box(-40, -20, 40, 20)


def assert_cut(base: shapely.Geometry, cells: list[shapely.Polygon]) -> None:
    """Cells tile the base, and neighbors share vertices; slanted sides move by half a step of the grid."""
    assert coverage_faults([as_multi(cell) for cell in cells]) == ()
    assert shapely.union_all(cells).symmetric_difference(base).area <= 0.0005 * base.length


def test_a_shape_fits_as_it_is_or_turned_by_a_right_angle() -> None:
    room = Room(100.0, 60.0)
    sizes = [(100, 60), (60, 100), (100.01, 60), (60, 100.01), (61, 61)]
    held = [room.holds(shapely.box(3, 5, 3 + width, 5 + height)) for width, height in sizes]
    assert held == [True, True, False, False, False]


@pytest.mark.parametrize(
    ("width", "height", "counts"),
    [
        (200, 60, (2, 1, (100.0, 60.0))),
        (60, 200, (1, 2, (60.0, 100.0))),
        (110, 110, (2, 2, (100.0, 60.0))),
        (301, 60, (4, 1, (100.0, 60.0))),
        (119, 100, (2, 1, (60.0, 100.0))),
    ],
)
def test_columns_and_rows_are_the_fewest_of_both_ways_to_lie(
    width: float, height: float, counts: tuple[int, int, tuple[float, float]]
) -> None:
    assert Room(100.0, 60.0).counts(shapely.box(0, 0, width, height)) == counts


def line(x0: float, y0: float, x1: float, y1: float) -> CutLine:
    return CutLine(from_mm=(x0, y0), to_mm=(x1, y1))


def test_lines_cut_the_base_where_they_are_drawn() -> None:
    cross = [line(0, -30, 0, 30), line(-50, 5, 50, 5)]
    cells = cells_of_lines(PLATE, cross)
    assert sorted(cell.area for cell in cells) == pytest.approx([40 * 15] * 2 + [40 * 25] * 2)
    assert_cut(PLATE, cells)
    halves = cells_of_lines(PLATE, [line(0, -30, 0, 30), line(0, 5, 50, 5)])  # the second ends on the first
    assert sorted(cell.area for cell in halves) == pytest.approx([40 * 15, 40 * 25, 40 * 40])


def test_openings_are_no_cells() -> None:
    ring = PLATE.difference(shapely.box(-10, -5, 10, 5))
    assert_cut(ring, cells_of_lines(ring, [line(0, -30, 0, 30)]))


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([line(41, -30, 41, 30)], r"line 1 of seams\.lines misses the piece.* x -40\.0 and 40\.0"),
        ([line(40, 20, 50, 30)], "line 1 .* misses"),  # it touches a corner
        ([line(0, -30, 0, 30), line(9, -30, 9, 0)], r"line 2 of seams\.lines cuts nothing off"),
        ([line(0, -30, 0, 30), line(0, -30, 0, 30)], "line 1 .* cuts nothing off"),
    ],
)
def test_a_line_that_cuts_nothing_is_refused(lines: list[CutLine], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        cells_of_lines(PLATE, lines)


@settings(max_examples=10)
@given(st.lists(st.floats(30, 110), min_size=5, max_size=9), st.floats(60, 120), st.floats(60, 120))
def test_cells_for_a_bed_tile_the_base_and_fit_the_bed(
    radii: list[float], width: float, depth: float
) -> None:
    turns = [2 * math.pi * k / len(radii) for k in range(len(radii))]
    corners = [(r * math.cos(turn), r * math.sin(turn)) for r, turn in zip(radii, turns, strict=True)]
    base = shapely.transform(shapely.Polygon(corners), snapped)
    cells = cells_for_bed(base, [], NOTHING, Room(width, depth))
    assert_cut(base, cells)
    assert all(Room(width, depth).holds(cell) for cell in cells)


def test_what_is_barred_lies_in_one_cell() -> None:
    """The band reaches from 60 to 100 mm; straight through its middle would be as short a seam."""
    hole = shapely.Point(80, 25).buffer(17)
    cells = cells_for_bed(shapely.box(0, 0, 160, 50), [], hole, Room(100, 60))
    assert [shapely.covers(cell, hole) for cell in sorted(cells, key=hole.distance)] == [True, False]


def test_two_halves_are_enough_where_the_bed_is_half_as_long() -> None:
    cells = cells_for_bed(shapely.box(0, 0, 160, 50), [], NOTHING, Room(90, 60))
    assert len(cells) == 2
    assert all(70 <= cell.bounds[2] - cell.bounds[0] <= 90 for cell in cells)


def test_a_part_may_be_as_large_as_a_room_between_two_steps_of_the_grid() -> None:
    """A room of 100.0007 mm takes parts of 100.000: a seam at 100.001 would be cut again without end."""
    slanted = shapely.Polygon([(0, 0), (50, -40), (150, -40), (150, 40), (50, 40)])
    cells = cells_for_bed(slanted, [], NOTHING, Room(100.0007, 100.0007))
    assert len(cells) == 2
    assert max(cell.bounds[2] - cell.bounds[0] for cell in cells) <= 100.0


@pytest.mark.parametrize("over", [0.01, 3.0])
def test_the_tip_of_a_piece_a_bit_longer_than_the_bed_is_no_part(over: float) -> None:
    kite = shapely.Polygon([(0, 0), (50, -40), (100 + over, 0), (50, 40)])
    cells = cells_for_bed(kite, [], NOTHING, Room(100.0, 90.0))
    assert len(cells) == 2
    assert min(cell.bounds[2] - cell.bounds[0] for cell in cells) >= 2 * CRUMB_MM - 0.001


def test_a_crumb_goes_to_its_neighbor_if_that_fits_the_bed() -> None:
    """A plate with two arms; along the lower one lies a finger, rooted at its end, that reaches too far."""
    plate, upper, lower = shapely.box(0, 0, 55, 60), shapely.box(55, 32, 110, 60), shapely.box(55, 0, 90, 28)
    finger = shapely.union(shapely.box(46, -8, 90, -4), shapely.box(86, -4, 90, 0))
    piece = shapely.union_all([plate, upper, lower, finger])
    cells = cells_for_bed(piece, [shapely.box(-9, -9, 55, 99)], NOTHING, Room(60.0, 70.0))
    assert_cut(piece, cells)
    assert sorted(cell.area for cell in cells) == pytest.approx([35 * 28 + 44 * 4 + 16, 55 * 28, 55 * 60])


def test_more_cells_than_anybody_puts_together_are_refused() -> None:
    side = 10.0 * (MOST_CELLS + 1)
    with pytest.raises(GeometryError, match=f"{MOST_CELLS + 1} parts, more than {MOST_CELLS}"):
        cells_for_bed(shapely.box(0, 0, side, 10), [], NOTHING, Room(10.0, 10.0))
    with pytest.raises(GeometryError, match="64 parts"):
        cells_for_bed(shapely.box(0, 0, 80, 80), [], NOTHING, Room(10.0, 10.0))


def test_a_cell_that_the_gap_would_break_is_two_cells() -> None:
    """Right of the seam two fields hang together by a strip: as wide as the gap, or three times as wide."""
    left = shapely.box(-40, -20, 0, 20)
    for strip, count in ((0.2, 3), (0.6, 2)):
        fields = [shapely.box(0, -20, 40, -2), shapely.box(0, 2, 40, 20), shapely.box(0, -2, strip, 2)]
        right = shapely.union_all(fields)
        cells = without_necks([left, right], 0.2)
        assert len(cells) == count
        lost = shapely.difference(shapely.union(left, right), shapely.union_all(cells))
        assert lost.difference(left.buffer(0.2)).is_empty  # the gap takes that much of it anyhow


def test_cells_without_necks_are_left_as_they_are() -> None:
    cells = [shapely.box(-40, -20, 0, 20), shapely.box(0, -20, 40, 20)]
    assert without_necks(cells, 0.2) == cells
