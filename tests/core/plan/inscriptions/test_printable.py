"""Letters made printable one by one, at sizes that all texts share."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.plan.inscriptions.printable import STEP, Mending, rung_mm
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import as_multi, on_grid

LIMITS = Limits(0.6, 0.5, 1.0, 0.4)


def ell(pen: float, high: float = 6.0) -> shapely.MultiPolygon:
    return as_multi(shapely.union(shapely.box(0, 0, pen, high), shapely.box(0, 0, high / 2, pen)))


def pen_of(letter: shapely.Geometry) -> float:
    return float(letter.intersection(shapely.LineString([(-5, 4), (5, 4)])).length)


@given(st.floats(0.5, 400.0), st.integers(1, 4))
def test_a_rung_is_the_next_lower_of_shared_sizes(size: float, apart: int) -> None:
    rung = rung_mm(size, apart)
    assert rung <= size * (1 + 1e-6)
    assert size < rung * STEP**apart * (1 + 1e-6)
    assert rung_mm(rung, apart) == pytest.approx(rung)
    assert rung_mm(rung * 1.0001 * STEP**apart, apart) == pytest.approx(rung * STEP**apart)


def test_a_thin_letter_gets_the_least_stroke_and_a_bold_one_stays() -> None:
    mending = Mending(LIMITS)
    assert pen_of(mending(ell(0.3))) == pytest.approx(0.6, abs=0.01)
    assert mending.changed(ell(0.3)) > 0.5
    assert pen_of(mending(ell(0.9))) == 0.9
    assert mending.changed(ell(0.9)) == pytest.approx(0.0, abs=0.02)  # its corner is a bit rounder


@settings(max_examples=15)
@given(st.floats(4.0, 20.0))
def test_fitted_letters_are_mended_at_their_rung_and_at_most_a_step_wider(size: float) -> None:
    mending = Mending.fitted(LIMITS, size)
    assert 1 / STEP <= mending.scale <= 1 + 1e-6
    assert 0.6 - 0.01 <= pen_of(mending(ell(0.3))) <= 0.6 * STEP + 0.01


def test_letters_of_sizes_on_one_rung_are_the_same_but_for_their_size() -> None:
    one, other = (Mending.fitted(LIMITS, size) for size in (rung_mm(6.0) * 1.01, rung_mm(6.0) * 1.05))
    small = one(shapely.affinity.scale(ell(0.3), 1.01, 1.01, origin=(0, 0)))
    large = other(shapely.affinity.scale(ell(0.3), 1.05, 1.05, origin=(0, 0)))
    grown = shapely.affinity.scale(small, 1.05 / 1.01, 1.05 / 1.01, origin=(0, 0))
    assert shapely.get_coordinates(grown) == pytest.approx(shapely.get_coordinates(large), abs=1e-9)


def test_what_is_mended_lies_on_the_grid_and_nothing_stays_nothing() -> None:
    assert on_grid(Mending(LIMITS)(ell(0.3)))
    nothing = shapely.MultiPolygon()
    assert Mending(LIMITS)(nothing).is_empty
    assert Mending(LIMITS).changed(nothing) == 0.0
