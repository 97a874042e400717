"""Bridges over openings of the layer below are no overhang, up to 10 mm; what sticks out is."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.checks import bridges
from reliefsmith.checks.bridges import unsupported
from reliefsmith.checks.layerstack import Layer

PLATE = shapely.box(-30, -30, 30, 30)


def judged(above, below, nozzle=0.4):
    layers = [
        Layer(number, 1, 0.2 * (number - 1), 0.2 * number, {"base": shape})
        for number, shape in ((1, below), (2, above))
    ]
    over = above.difference(below.buffer(nozzle))
    return unsupported(over, layers[1], layers[0], nozzle)


@pytest.mark.parametrize(
    ("pocket", "code"),
    [
        (shapely.Point(0, 0).buffer(4.075), None),
        (shapely.box(-12.65, -2.65, 12.65, 2.65), None),  # long, but narrow: beads go across
        (shapely.Point(0, 0).buffer(5.5, 64), "long-bridge"),
    ],
)
def test_the_ceiling_of_a_pocket_is_a_bridge(pocket, code):
    found = judged(PLATE, PLATE.difference(pocket))
    assert [item.code for item in found] == ([] if code is None else [code])
    if code:
        assert "11.0 mm" in found[0].message


def test_what_reaches_out_is_an_overhang():
    (item,) = judged(shapely.box(-35, -30, 30, 30), PLATE)
    assert item.code == "overhang"
    assert "276.0 mm2" in item.message  # 4.6 x 60


def test_small_patches_are_left_out():
    assert judged(PLATE.union(shapely.box(30, 0, 30.6, 1)), PLATE) == []


def test_a_bent_pocket_is_spanned_across_and_not_from_end_to_end() -> None:
    """A sunk letter L of 30 x 30 mm, its strokes 4 mm wide: beads cross the strokes."""
    pocket = shapely.union(shapely.box(5, 5, 9, 35), shapely.box(5, 5, 35, 9))
    assert bridges._span(pocket) == pytest.approx(4.0, abs=1.0)  # the widest disc lies in the corner
    assert bridges._span(shapely.box(0, 0, 25, 5)) == pytest.approx(5.0, abs=0.01)


def test_beads_lie_as_close_as_the_nozzle_is_wide() -> None:
    """Over a gap of 3 x 4 mm the first of 11 beads lies at .18 mm; it finds a wall within .42 mm of it."""
    gap, far = shapely.box(0, 0, 3, 4), shapely.box(3, 0, 5, 4)
    for start, expected in ((0.55, 3.0), (0.62, None)):
        walls = shapely.union(shapely.box(-2, start, 0, 4), far)
        assert bridges._from_wall_to_wall(gap, walls, 0.4) == expected
