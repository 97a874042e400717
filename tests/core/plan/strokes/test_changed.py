from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.strokes.changed import changed_share, is_faithful, smallest_good_scale
from reliefsmith.plan.strokes.partition import Sheet, sheet_of
from reliefsmith.polygons import as_multi
from reliefsmith.progress import Progress, drain

SQUARE = as_multi(shapely.box(0, 0, 10, 10))


def with_motif(sheet: Sheet, shape: shapely.Geometry) -> Sheet:
    return Sheet((as_multi(shape),), as_multi(sheet.frame.difference(shape)), sheet.frame)


def test_gain_and_loss_of_one_color_both_count():
    before = sheet_of([SQUARE])
    wider = with_motif(before, shapely.box(0, 0, 10.1, 10))
    smaller = with_motif(before, shapely.box(0, 0, 9.8, 10))
    assert changed_share(before, wider, 100) == pytest.approx(0.01)
    assert changed_share(before, smaller, 100) == pytest.approx(0.02)


def test_a_lost_piece_is_not_faithful_even_where_its_share_is_small():
    dot = shapely.box(12, 0, 13.2, 1)
    before = sheet_of([as_multi(shapely.union(SQUARE, dot))])
    after = with_motif(before, SQUARE)
    assert changed_share(before, after, 100) < 0.03
    assert not is_faithful(before, after, 100)
    assert is_faithful(before, before, 100)


def test_pieces_count_as_large_as_they_are_thought_enlarged():
    """A dot of .36 mm2 is lost; twice as large it would have 1.44."""
    before = sheet_of([as_multi(shapely.union(SQUARE, shapely.box(12, 0, 12.6, 0.6)))])
    after = with_motif(before, SQUARE)
    assert is_faithful(before, after, 100)
    assert not is_faithful(before, after, 100, scale=2.0)


@pytest.mark.parametrize("truth", [1.3, 2.0, 5.7])
def test_the_scale_found_is_good_and_close_to_the_least(truth):
    before = sheet_of([SQUARE])

    def repaired_at(scale):
        yield Progress("trying")
        return before if scale >= truth else with_motif(before, shapely.box(0, 0, 9, 10))

    found = drain(smallest_good_scale(before, 100.0, repaired_at))
    assert truth <= found <= truth * 2 ** (1 / 8) + 1e-9


def test_no_scale_up_to_eight_is_none():
    before = sheet_of([SQUARE])

    def repaired_at(_):
        yield Progress("trying")
        return with_motif(before, shapely.box(0, 0, 9, 10))

    assert drain(smallest_good_scale(before, 100.0, repaired_at)) is None
