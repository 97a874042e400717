"""Webs hold the eyes of letters that are cut into the side on the bed."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.inscriptions.webs import webbed
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe

LIMITS = Limits.of(Recipe().motif, Recipe().printer)


@pytest.mark.parametrize(
    ("wide", "high", "stays"), [(2.1, 2.1, True), (1.9, 1.9, False), (1.4, 6.0, False), (1.6, 6.0, True)]
)
def test_an_eye_that_would_come_loose_from_the_bed_is_held_by_a_web(
    wide: float, high: float, stays: bool
) -> None:
    """An eye of a sunk letter is an island of the first layer: 4 mm2 and 1.5 mm hold by themselves."""
    outer = shapely.box(-5, -5, 5, 5)
    letter = as_multi(outer.difference(shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)))
    cut, count = webbed(letter, LIMITS)
    assert count == (0 if stays else 1)
    assert sum(len(piece.interiors) for piece in cut.geoms) == (1 if stays else 0)
    if stays:
        assert cut.equals(letter)
    else:
        web = shapely.difference(letter, cut)
        short = min(5 - wide / 2, 5 - high / 2)
        assert web.area == pytest.approx(LIMITS.stroke * short, rel=0.05)


def test_of_several_letters_each_small_eye_gets_its_own_web() -> None:
    ring = shapely.box(0, 0, 4, 6).difference(shapely.union(shapely.box(1, 1, 3, 2), shapely.box(1, 4, 3, 5)))
    pair = as_multi([ring, shapely.affinity.translate(ring, 10, 0)])
    cut, count = webbed(pair, LIMITS)
    assert count == 4
    assert sum(len(piece.interiors) for piece in cut.geoms) == 0
