"""How wide strokes and gaps of letters are, by discs between two sides that face each other."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from reliefsmith.plan.lettering.letterwidths import stroke_and_gap


def test_strokes_and_gaps_are_measured() -> None:
    """E and H of bars 0.6 wide, 0.5 apart: by construction."""
    bar = shapely.box(0, 0, 0.6, 2.8)
    e = shapely.union_all([bar, *(shapely.box(0, y, 2.5, y + 0.6) for y in (0, 1.1, 2.2))])
    h = shapely.union_all([bar, translate(bar, 1.1, 0), shapely.box(0, 1.1, 1.7, 1.7)])
    stroke, gap = stroke_and_gap([e, translate(h, 3.0, 0), translate(e, 5.2, 0)], 0.5)
    assert stroke == pytest.approx(0.6, rel=0.03)
    assert gap == pytest.approx(0.5, rel=0.05)


@settings(max_examples=12)
@given(st.floats(0.3, 1.2), st.floats(0.3, 1.2), st.floats(0, 180), st.floats(0.6, 1.6))
def test_bars_side_by_side_have_their_width_and_their_gap(
    wide: float, gap: float, turn: float, guess: float
) -> None:
    row = [shapely.box(k * (wide + gap), 0, k * (wide + gap) + wide, 6) for k in range(5)]
    bars = [rotate(bar, turn, origin=(0, 0)) for bar in row]
    stroke, between = stroke_and_gap(bars, guess * wide)
    aside = guess * wide / 2.5 / 2  # points lie 2.5 to the guess: one across is off by half of that
    for found, true in ((stroke, wide), (between, gap)):
        assert true * (1 - 1e-6) <= found <= (true**2 + aside**2) / true * (1 + 1e-6)


def test_a_ring_is_as_wide_as_its_radii_differ_and_its_eye_is_a_gap() -> None:
    ring = shapely.Point(0, 0).buffer(4, 64).difference(shapely.Point(0, 0).buffer(3, 64))
    stroke, gap = stroke_and_gap([ring], 1.0)
    assert stroke == pytest.approx(1.0, abs=0.01)
    assert gap == pytest.approx(6.0, abs=0.05)


def test_one_bar_has_no_gap() -> None:
    assert stroke_and_gap([shapely.box(0, 0, 1, 8)], 1.0) == (pytest.approx(1.0, rel=0.04), math.inf)


def test_a_piece_without_sides_that_face_each_other_has_the_width_that_was_guessed() -> None:
    """In a triangle normals are 120 degrees apart, just not beyond; in a slimmer one two sides are."""
    blunt = shapely.Polygon([(0, 0), (8, 0), (4, 12)])
    assert stroke_and_gap([blunt], 0.7)[0] != 0.7
    wide = shapely.Polygon([(0, 0), (80, 0), (40, 0.001)])
    assert stroke_and_gap([wide], 0.7)[0] < 0.01


def test_gaps_count_to_the_next_letter_on_either_side_only() -> None:
    """The third bar stands nearest to the first, by the order of the line it is none of its neighbors."""
    bars = [shapely.box(x, 0, x + 1, 6) for x in (0, 10, 2)]
    _, gap = stroke_and_gap(bars, 1.0)
    assert gap == pytest.approx(7.0, rel=0.01)


def test_few_strokes_may_be_thinner_and_fewer_gaps_narrower() -> None:
    """Two fifths of the outline count for strokes, one fifth for gaps, in order of width."""
    thin, thick = shapely.box(0, 0, 0.4, 6), shapely.box(0, 0, 1.0, 6)

    def line(thins: int) -> list[shapely.Polygon]:
        return [translate(thin if k < thins else thick, 3.0 * k, 0) for k in range(10)]

    assert stroke_and_gap(line(3), 0.8)[0] == pytest.approx(1.0, rel=0.01)
    assert stroke_and_gap(line(5), 0.8)[0] == pytest.approx(0.4, rel=0.05)
