"""The base without slits, and nowhere narrower than its least width."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.base.width import widened
from reliefsmith.polygons import as_multi, opened

PLATE = shapely.box(0, 0, 30, 20)


def test_a_slit_under_the_limit_is_closed_and_told_and_a_wider_gap_stays() -> None:
    for wide, closed in ((0.7, True), (0.9, False)):
        base = PLATE.difference(shapely.box(10, 8, 20, 8 + wide))
        made, notes = widened(base, 1.5, 0.8)
        assert (made.area == pytest.approx(PLATE.area, abs=0.1)) is closed
        if closed:
            assert [item.code for item in notes] == ["gap-closed"]


def test_specks_under_a_hundredth_of_a_square_millimetre_are_left() -> None:
    for area, closed in ((0.0075, False), (0.0125, True)):
        base = PLATE.difference(shapely.box(10, 8, 10.1, 8 + area / 0.1))
        made, _ = widened(base, 1.5, 0.8)
        assert (made.area == pytest.approx(PLATE.area, abs=0.001)) is closed


def test_a_narrow_arm_is_widened_to_the_least_width_and_told() -> None:
    made, notes = widened(shapely.union(PLATE, shapely.box(30, 8, 45, 9)), 2.0, 0.8)
    across = shapely.intersection(made, shapely.LineString([(38, 0), (38, 20)]))
    assert across.length == pytest.approx(2.0, abs=0.05)
    assert "base-widened" in {item.code for item in notes}


def test_a_neck_that_a_disc_does_not_pass_is_widened() -> None:
    """Two discs of 6 mm whose waist is 1.2 mm wide: both hold a disc of 2 mm, which does not go through."""
    waist = as_multi(shapely.union_all([shapely.Point(x, 0).buffer(3, 64) for x in (-2.94, 2.94)]))
    made, _ = widened(waist, 2.0, 0.8)
    assert shapely.intersection(made, shapely.LineString([(0, -5), (0, 5)])).length >= 1.95
    wide, none = widened(
        as_multi(shapely.union_all([shapely.Point(x, 0).buffer(3, 64) for x in (-2, 2)])), 2.0, 0.8
    )
    assert none == ()
    assert opened(wide, 0.98).area == pytest.approx(wide.area, rel=0.01)


def test_a_base_as_wide_as_it_must_be_stays() -> None:
    made, notes = widened(PLATE, 2.0, 0.8)
    assert made.equals(PLATE)
    assert notes == ()
