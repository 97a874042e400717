"""The features of the test piece: each as large as it says, in rows, apart from the others."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely

from reliefsmith.solid.coupon_features import CORNER_MM, HEIGHT_MM, KINDS, WIDTH_MM, features, plate


def _kind(kind: str) -> list:
    return [item for item in features() if item.kind == kind]


def test_every_kind_is_there_in_the_order_of_reading() -> None:
    assert list(dict.fromkeys(item.kind for item in features())) == list(KINDS)


@pytest.mark.parametrize("kind", ["stroke", "gap", "face"])
def test_strokes_and_gaps_are_as_wide_as_they_say(kind: str) -> None:
    for item in _kind(kind):
        x0, y0, x1, y1 = item.shape.bounds
        assert x1 - x0 == pytest.approx(item.size, abs=1e-9)
        assert y1 - y0 > 3 * item.size


@pytest.mark.parametrize("kind", ["dot", "hole"])
def test_dots_and_holes_are_as_wide_as_they_say(kind: str) -> None:
    for item in _kind(kind):
        assert 2 * math.sqrt(item.shape.area / math.pi) == pytest.approx(item.size, rel=0.01)


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_grows_from_left_to_right_and_nothing_touches(kind: str) -> None:
    row = _kind(kind)
    for one, other in pairwise(row):
        assert one.size < other.size
        assert one.shape.bounds[2] < other.shape.bounds[0]


def test_all_lie_on_the_plate_and_apart_from_each_other() -> None:
    shapes = [item.shape for item in features()]
    assert all(plate().contains(shape) for shape in shapes)
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    assert (one == other).all()


def test_the_plate_lacks_one_corner() -> None:
    assert plate().area == pytest.approx(WIDTH_MM * HEIGHT_MM - CORNER_MM**2 / 2)
    assert not plate().covers(shapely.Point(-WIDTH_MM / 2 + 0.5, HEIGHT_MM / 2 - 0.5))
