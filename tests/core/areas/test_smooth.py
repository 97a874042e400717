"""Smoothing keeps what is a quadratic already, evens noise, and leaves the ends of chains where they are."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.neighbors import Chains
from reliefsmith.areas.smooth import Window, smooth_chains

WINDOW = Window(5, 2.5)


def _chains(*parts: np.ndarray, closed: bool = False) -> Chains:
    points = np.vstack(parts)
    starts = np.cumsum([0, *(len(part) for part in parts)])
    return Chains(points, np.ones(len(points)), starts, np.full(len(parts), closed))


@given(st.floats(0, 6.3), st.floats(-50, 50), st.integers(4, 60))
def test_points_on_a_line_stay(turn: float, shift: float, count: int) -> None:
    line = shift + np.arange(count)[:, None] * np.array([np.cos(turn), np.sin(turn)])
    assert smooth_chains(_chains(line), WINDOW) == pytest.approx(line, abs=1e-6)


@pytest.mark.parametrize("radius", [10.0, 25.0, 100.0])
def test_a_circle_hardly_shrinks(radius: float) -> None:
    """A mean over as many points would pull it in by 3 / radius."""
    turn = np.linspace(0, 2 * np.pi, round(2 * np.pi * radius), endpoint=False)
    moved = smooth_chains(
        _chains(radius * np.column_stack([np.cos(turn), np.sin(turn)]), closed=True), WINDOW
    )
    assert np.abs(np.hypot(*moved.T) - radius).max() < 0.4 / radius


def test_noise_is_evened_and_ends_stay() -> None:
    rng = np.random.default_rng(4)
    line = np.column_stack([np.arange(80.0), rng.normal(0, 0.2, 80)])
    moved = smooth_chains(_chains(line, line + 200), WINDOW)
    assert moved[5:75, 1].std() < 0.5 * line[5:75, 1].std()
    assert (moved[[0, 79, 80, 159]] == np.vstack([line[[0, -1]], line[[0, -1]] + 200])).all()
    assert moved[80:] == pytest.approx(moved[:80] + 200)


def test_chains_too_short_for_a_fit_stay() -> None:
    few = np.array([[0.0, 0.0], [1.0, 0.7], [2.0, 0.0]])
    assert (smooth_chains(_chains(few, few + 9), WINDOW) == np.vstack([few, few + 9])).all()


def test_points_without_weight_do_not_pull() -> None:
    line = np.column_stack([np.arange(30.0), np.zeros(30)])
    line[15, 1] = 5.0
    chains = _chains(line)
    free = Chains(chains.points, np.where(np.arange(30) == 15, 0.0, 1.0), chains.starts, chains.closed)
    assert np.abs(np.delete(smooth_chains(chains, WINDOW)[:, 1], 15)).max() > 0.1
    assert smooth_chains(free, WINDOW)[:15, 1] == pytest.approx(np.zeros(15), abs=1e-6)
