"""Corners that may lift: of long pieces, sharp ones, the farthest from the middle."""

from __future__ import annotations

import pytest
import shapely
from shapely import affinity

from reliefsmith.checks.lifting import LIFT_ROUND_MM, LONG_MM, lifting_findings


def _corners(outline: shapely.Geometry) -> list[tuple[float, float]]:
    return [item.at_mm[:2] for item in lifting_findings(outline) if item.at_mm is not None]


def test_the_farthest_sharp_corner_of_a_long_piece_may_lift() -> None:
    sign = shapely.Polygon([(-70, -20), (60, -20), (60, 20), (-50, 20)])
    (item,) = lifting_findings(sign)
    assert (item.code, item.at_mm) == ("corner-may-lift", (-70.0, -20.0, 0.0))
    assert "this one and 2 more" in item.message  # the fourth has 117 degrees


def test_short_or_rounded_pieces_do_not_lift() -> None:
    assert _corners(shapely.box(-30, -15, 30, 15)) == []
    assert _corners(shapely.box(-60, -20, 60, 20).buffer(LIFT_ROUND_MM + 1, quad_segs=32)) == []
    assert _corners(shapely.Point(0, 0).buffer(80, quad_segs=64)) == []
    assert lifting_findings(shapely.Polygon()) == ()


def test_the_longest_extent_decides_whether_a_piece_is_long() -> None:
    side = (LONG_MM**2 / 2) ** 0.5  # of a square whose diagonal is just that long
    assert _corners(shapely.box(0, 0, side - 0.01, side - 0.01)) == []
    assert len(_corners(shapely.box(0, 0, side + 0.01, side + 0.01))) == 1


def test_an_opening_pulls_at_no_corner_and_two_pieces_lie_as_one() -> None:
    round_ = shapely.Point(0, 0).buffer(80, quad_segs=64)
    assert _corners(round_.difference(shapely.box(-20, -20, 20, 20))) == []
    apart = shapely.MultiPolygon([shapely.box(-70, 0, -30, 20), shapely.box(30, 0, 70, 20)])
    assert _corners(apart) == [(70.0, 20.0)]


@pytest.mark.parametrize("turn", [0.0, 30.0, 77.0])
def test_a_turned_piece_lifts_at_the_same_corner(turn: float) -> None:
    sign = shapely.Polygon([(-70, -20), (60, -20), (60, 20), (-50, 20)])
    (found,) = _corners(affinity.rotate(sign, turn, origin=(0, 0)))
    at = affinity.rotate(shapely.Point(-70, -20), turn, origin=(0, 0))
    assert found == pytest.approx((at.x, at.y), abs=0.01)
