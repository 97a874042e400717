"""Sides as parabolas: fitted through what is there, and crossed where both are."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.artwork.sheet.bows import crossed, fitted, moved, outward, powers_of

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
PLACE = np.linspace(-0.9, 0.9, 40)


@given(st.lists(st.floats(-0.2, 0.2), min_size=12, max_size=12))
def test_bent_sides_meet_where_both_are(bends) -> None:
    bows = 20 * np.array(bends).reshape(4, 3)
    corners = crossed(SQUARE, bows)
    for at, (x, y) in enumerate(corners):
        for side in (at - 1, at):
            start, end = SQUARE[side], SQUARE[(side + 1) % 4]
            along = (end - start) / 100.0
            outward = np.array([along[1], -along[0]])
            place = ((x, y) - (start + end) / 2) @ along / 50.0
            assert ((x, y) - start) @ outward == pytest.approx(np.polyval(bows[side], place), abs=1e-6)


@settings(max_examples=20)
@given(st.lists(st.floats(-50, 50), min_size=8, max_size=8))
def test_the_way_out_is_square_to_a_side_and_leads_away_from_the_middle(shifts: list[float]) -> None:
    quad = 3 * SQUARE + np.reshape(shifts, (4, 2))
    steps = np.roll(quad, -1, axis=0) - quad
    out = outward(quad)
    assert np.linalg.norm(out, axis=1) == pytest.approx(1)
    assert np.abs((out * steps).sum(axis=1)).max() < 1e-9
    assert (((quad + steps / 2 - quad.mean(axis=0)) * out).sum(axis=1) > 0).all()


@settings(max_examples=20)
@given(st.lists(st.floats(-3, 3), min_size=3, max_size=3), st.integers(0, 2**32 - 1))
def test_a_parabola_is_found_though_a_quarter_of_its_places_lie_far_off(bow: list[float], seed: int) -> None:
    """What holds bends back costs a fifteenth of them at 30 places; what lies off is left out wholly."""
    random = np.random.default_rng(seed)
    offset = np.polyval(bow, PLACE)
    off = random.random(40) < 0.25
    offset[off] += random.choice([-40, 40], off.sum())
    found = fitted(PLACE, np.tile(offset, (1, 4, 1)), np.ones((1, 4, 40), bool))
    assert found.shape == (1, 4, 3)
    assert np.abs(found @ powers_of(PLACE).T - np.polyval(bow, PLACE)).max() < 0.5


def test_unknown_places_count_nothing_and_without_any_a_side_stays_straight() -> None:
    offset, known = np.tile(2.0 + PLACE, (1, 4, 1)), np.ones((1, 4, 40), bool)
    offset[0, 1, ::2], known[0, 1, ::2] = 5.0, False
    known[0, 2] = False
    found = fitted(PLACE, offset, known)[0]
    assert np.abs(found[1] - found[0]).max() < 0.1
    assert found[2].tolist() == [0, 0, 0]
    assert powers_of(np.array([2.0, -1.0])).tolist() == [[4, 2, 1], [1, -1, 1]]


def test_quadrilaterals_move_out_with_their_sides() -> None:
    """All sides out by 3 px: a square of 106; one alone takes two corners along."""
    bows = np.zeros((2, 4, 3))
    bows[0, :, 2] = 3
    bows[1, 1, 2] = 5
    grown, one = moved(np.stack([SQUARE, SQUARE]), bows)
    assert grown == pytest.approx(SQUARE * 1.06 - 3)
    assert one == pytest.approx(SQUARE + np.array([[0, 0], [5, 0], [5, 0], [0, 0]]))
    assert moved(np.empty((0, 4, 2)), np.empty((0, 4, 3))).shape == (0, 4, 2)
