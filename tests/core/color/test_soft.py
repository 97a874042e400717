"""Soft changes of color: whether there may be shading, and what is the ground in shadow."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.background import shades
from reliefsmith.color.capture import Capture
from reliefsmith.color.even import may_be_shaded
from reliefsmith.color.modes import Bins
from reliefsmith.colorimetry import srgb_to_lab

CLEAN, LOSSY = Capture(0.0, False, False, 1.0), Capture(0.0, True, True, 1.0)
PAPER = np.array([240.0, 230.0, 210.0])


def bins(*rows: tuple[tuple[float, float, float], float]) -> Bins:
    means = np.array([color for color, _ in rows])
    counts = np.array([count for _, count in rows], np.float64)
    return Bins(np.arange(len(rows)), counts, means, srgb_to_lab(means))


def pair(spread: float, share: float = 0.5) -> Bins:
    """Two like colors of one channel that stray by a standard deviation; the rest is one flat color."""
    apart = 2 * spread
    count = share * 1000
    return bins(
        ((100.0, 90, 80), count / 2), ((100.0 + apart, 90, 80), count / 2), ((250, 250, 250), 1000 - count)
    )


@pytest.mark.parametrize(
    ("capture", "least"), [(CLEAN, 2.0), (LOSSY, 3.0), (Capture(2.0, False, False, 1.0), 5.0)]
)
def test_shading_spreads_by_two_levels_three_of_lossy_pictures_and_more_in_noise(
    capture: Capture, least: float
) -> None:
    assert may_be_shaded(pair(least + 0.1), capture)
    assert not may_be_shaded(pair(least - 0.1), capture)


def test_like_means_within_twelve_levels_in_every_channel() -> None:
    assert may_be_shaded(pair(5.9), CLEAN)
    assert not may_be_shaded(pair(6.1), CLEAN)


def test_too_few_pixels_are_no_shading() -> None:
    assert may_be_shaded(pair(3.0, share=0.002), CLEAN)
    assert not may_be_shaded(pair(3.0, share=0.0018), CLEAN)


def test_the_sixty_four_commonest_colors_are_looked_at() -> None:
    for alone, seen in ((63, True), (64, False)):
        flat = [((5.0 * number, 255.0 - 5 * number, 250.0), 100.0) for number in range(alone)]
        shaded = [((100.0, 100.0, 0.0), 50.0), ((110.0, 100.0, 0.0), 50.0)]
        spread = [((red * 3 % 256, green, blue), count) for (red, green, blue), count in flat]
        assert may_be_shaded(bins(*spread, *shaded), CLEAN) is seen


@pytest.mark.parametrize(
    ("part", "tint", "is_shade"),
    [(0.7, 0.0, True), (0.42, 0.0, True), (0.38, 0.0, False), (1.01, 0.0, False), (0.7, 17.0, False)],
)
def test_a_shade_is_the_ground_by_a_factor_down_to_two_fifths(
    part: float, tint: float, is_shade: bool
) -> None:
    color = part * PAPER + [0.0, 0.0, tint]
    assert shades(color[None], PAPER).tolist() == [is_shade]


def test_a_tint_of_twelve_levels_is_no_shade() -> None:
    """A tint across the ground's own direction, so that no factor explains any of it."""
    across = np.array([PAPER[1], -PAPER[0], 0.0]) / PAPER[0]
    for levels, is_shade in ((11.5, True), (12.5, False)):
        assert shades((0.7 * PAPER + levels * across)[None], PAPER).tolist() == [is_shade]


def test_black_has_no_shade() -> None:
    assert shades(np.array([[0.0, 0, 0], [200, 200, 200]]), np.zeros(3)).tolist() == [False, False]
