"""The sheet of all motif colors and the ground between: one coverage, whatever is given to whom."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from oracles import coverage_faults
from reliefsmith.plan.strokes.partition import GROUND, Sheet, sheet_of
from reliefsmith.polygons import as_multi, noded_coverage

from ..arts import blobs
from .sheets import sheet

LEFT, RIGHT = shapely.box(0, 0, 4, 4), shapely.box(4, 0, 10, 4)


def assert_whole(made: Sheet) -> None:
    """Motifs and ground tile the frame."""
    entries = [*made.motifs, made.ground]
    assert coverage_faults([entry for entry in entries if not entry.is_empty]) == ()
    assert sum(entry.area for entry in entries) == pytest.approx(made.frame.area)


def test_the_ground_is_all_else_within_a_frame_well_outside() -> None:
    made = sheet(LEFT, RIGHT)
    assert made.frame.bounds == (-5.0, -5.0, 15.0, 9.0)
    assert made.ground.area == pytest.approx(20 * 14 - 10 * 4)
    assert sheet(shapely.box(0.2, 0.2, 3.7, 3.2)).frame.bounds == (-5.0, -5.0, 9.0, 9.0)  # whole millimetres
    assert_whole(made)


def test_entries_come_by_their_numbers_the_smallest_motif_first_and_the_ground_last() -> None:
    made = sheet(RIGHT, LEFT)
    assert made.numbers() == [1, 0, GROUND]
    assert made.entry(1).equals(LEFT)
    assert made.entry(GROUND) is made.ground
    same = sheet(shapely.box(0, 0, 2, 2), shapely.box(3, 0, 5, 2))
    assert same.numbers() == [0, 1, GROUND]  # of two alike the first


def test_a_gain_is_owned_by_one_entry_and_by_no_other() -> None:
    gain = as_multi(shapely.box(3, 1, 5, 6))  # of left, right, and the ground above
    for number in (0, 1, GROUND):
        made = sheet(LEFT, RIGHT).with_gain(number, gain)
        assert shapely.covers(made.entry(number), gain)
        for other in {0, 1, GROUND} - {number}:
            assert made.entry(other).intersection(gain).area == 0
        assert_whole(made.noded())


def test_no_gain_changes_nothing() -> None:
    made = sheet(LEFT)
    assert made.with_gain(0, shapely.MultiPolygon()) is made


@settings(max_examples=20)
@given(st.integers(0, 10_000), st.integers(-1, 2), st.floats(-8, 8), st.floats(0.3, 6))
def test_after_any_gain_the_noded_sheet_is_a_coverage(seed: int, number: int, x: float, wide: float) -> None:
    shapes = noded_coverage([as_multi(shape) for shape in blobs(3, seed, 8, 5)])
    before = sheet_of(shapes)
    gain = shapely.Point(x, 0).buffer(wide) & before.frame  # repair never reaches beyond it
    after = before.with_gain(number, gain).noded()
    assert_whole(after)
    assert gain.difference(after.entry(number)).area <= 0.001 * gain.length
