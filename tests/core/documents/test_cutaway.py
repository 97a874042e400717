"""The cut: its bands are what a line meets, at the level where it meets most, left stays left."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.documents.cutaway import cut
from reliefsmith.model import Slab, Stack

from .jobs import BASE, MOTIF

PLATE = shapely.box(-10, -10, 10, 10)
GREY, RED = (90, 90, 90), (200, 30, 30)


def test_the_section_meets_every_part_and_its_heights_are_those_of_the_slabs(job):
    section = cut(job.stack)
    assert {band.part for band in section.bands} == {0, 1, 2}
    assert section.top_mm == pytest.approx(BASE + MOTIF)
    line = shapely.LineString([(-100, section.y_mm), (100, section.y_mm)])
    length = sum(band.profile[-1][0] - band.profile[0][0] for band in section.bands if band.part == 0)
    assert length == pytest.approx(job.plan.base.intersection(line).length, abs=1e-6)


def _stack(*slabs: tuple[str, shapely.Geometry, float, float], **more: object) -> Stack:
    made = tuple(
        Slab(name, "base" if name == "base" else "motif", GREY, shape, low, float(top))
        for name, shape, low, top in slabs
    )
    return Stack(made, (2.0, 2.6), (), True, **more)  # type: ignore[arg-type]


def test_it_is_cut_where_most_parts_are_met_of_equal_ones_where_most_changes_are() -> None:
    comb = shapely.union_all([shapely.box(x, 4, x + 1, 6) for x in (-8, -4, 0, 4)])
    one = shapely.box(-9, -7, 9, -5)
    section = cut(_stack(("base", PLATE, 0, 2), ("comb", comb, 2, 2.6), ("one", one, 2, 2.6)))
    assert 4 < section.y_mm < 6
    third = shapely.box(-9, -8, -8, -4)
    section = cut(
        _stack(("base", PLATE, 0, 2), ("comb", comb, 2, 2.6), ("one", one, 2, 2.6), ("dot", third, 2, 2.6))
    )
    assert -7 < section.y_mm < -5  # three parts, however many stretches the comb has
    both = shapely.union(one, shapely.box(-9, 4.5, -8.5, 5.5))
    section = cut(_stack(("base", PLATE, 0, 2), ("comb", comb, 2, 2.6), ("other", both, 2, 2.6)))
    assert 4.5 < section.y_mm < 5.5


def test_of_equal_levels_the_middle_is_taken() -> None:
    assert cut(_stack(("base", PLATE, 0, 2))).y_mm == pytest.approx(0, abs=0.4)


@pytest.mark.parametrize("y", [-6.0, 0.0, 5.0])
def test_bands_are_the_stretches_that_a_line_meets(y: float) -> None:
    marks = shapely.box(-9, y - 1, 9, y + 1).difference(shapely.Point(0, y).buffer(3))
    section = cut(_stack(("base", PLATE, 0, 2), ("red", marks, 2, 2.6)))
    assert y - 1 < section.y_mm < y + 1
    line = shapely.LineString([(-50, section.y_mm), (50, section.y_mm)])
    met = sorted(part.bounds[::2] for part in shapely.get_parts(marks.intersection(line)))
    found = sorted((band.profile[0][0], band.profile[-1][0]) for band in section.bands if band.part == 1)
    assert found == [pytest.approx(ends) for ends in met]
    assert {(band.bottom_mm, band.profile[0][1]) for band in section.bands} == {(0, 2), (2, 2.6)}


def test_stretches_with_next_to_nothing_between_are_one() -> None:
    for gap, count in ((0.01, 1), (0.05, 2)):
        halves = shapely.union(shapely.box(-10, -10, 0, 10), shapely.box(gap, -10, 10, 10))
        assert len(cut(_stack(("base", halves, 0, 2))).bands) == count


def test_slabs_of_one_part_on_each_other_are_one_band() -> None:
    section = cut(_stack(("base", PLATE, 0, 1), ("base", PLATE, 1, 2), ("red", PLATE, 2, 2.6)))
    assert [(band.part, band.bottom_mm, band.profile[0][1]) for band in section.bands] == [
        (0, 0, 2),
        (1, 2, 2.6),
    ]
    assert section.levels_mm == (0, 1, 2, 2.6)
    assert section.top_mm == 2.6
    stepped = cut(_stack(("base", PLATE, 0, 1), ("base", shapely.box(-5, -10, 5, 10), 1, 2)))
    assert len(stepped.bands) == 2


def test_what_lies_face_down_is_seen_from_behind_so_that_left_stays_left() -> None:
    """A mark is on the left, on top of the finished piece, at the bottom on the bed, again on the left."""
    left = shapely.box(-9, -9, -5, 9)
    piece = tuple(_stack(("base", PLATE, 0, 2), ("red", left, 2, 2.6)).slabs)
    on_bed = tuple(slab.turned_over(2.6) for slab in piece)
    section = cut(Stack(on_bed, (0.6, 2.6), (), True, piece=piece))
    (red,) = [band for band in section.bands if band.part == 1]
    assert (red.profile[0][0], red.profile[-1][0]) == (-9, -5)
    assert (red.bottom_mm, red.profile[0][1]) == pytest.approx((0, 0.6))
