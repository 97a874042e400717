"""Shadows on the ground: tones that spread, or steep smooth slopes; a grey of the art stands alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reliefsmith.color.capture import Capture, Picture, calm_pixels
from reliefsmith.color.groundshadow import mark_shadow, may_have_shadow
from reliefsmith.color.mixing import Mixing
from reliefsmith.color.modes import count_bins
from reliefsmith.colorimetry.window import local_range

CLEAN, LOSSY = Capture(0.0, False, False, 1.0), Capture(0.0, True, True, 1.0)
PAPER = np.array([240.0, 240.0, 240.0])
SIDE = 160


def picture(levels: np.ndarray, capture: Capture = CLEAN) -> Picture:
    """A grey picture of levels (h, w), or of the levels of one row."""
    plane = np.broadcast_to(np.round(levels), (SIDE, SIDE)).astype(np.uint8).copy()
    mixing = Mixing((plane, plane, plane), None)
    calm = calm_pixels(mixing, local_range(mixing.planes), capture)
    return Picture(mixing, calm, mixing.keys(), count_bins(mixing, mixing.keys(), calm), capture)


def ramp(low: float, wide: int) -> np.ndarray:
    """Return a row of paper that falls to a level over some pixels and stays there."""
    return np.interp(np.arange(SIDE), [40, 40 + wide], [240.0, low])


def greys(*levels: float) -> np.ndarray:
    row = np.full(SIDE, 240.0)
    for number, level in enumerate(levels):
        row[20 + 40 * number : 50 + 40 * number] = level
    return row


def test_tones_that_spread_are_a_shadow() -> None:
    assert may_have_shadow(picture(ramp(180.0, 60)), PAPER) is True


def marked(shown: Picture) -> bool:
    """Tell whether there is a shadow, once it is looked for by place."""
    return may_have_shadow(shown, PAPER) and mark_shadow(shown, shown.calm.astype(np.uint8), PAPER)


@pytest.mark.parametrize("levels", [(), (180.0,), (200.0, 150.0, 110.0)])
def test_greys_that_stand_alone_are_none(levels: tuple[float, ...]) -> None:
    assert marked(picture(greys(*levels))) is False


def test_a_shadow_beside_a_heavy_grey_is_found() -> None:
    levels = np.where(np.arange(SIDE) < 100, greys(150.0, 150.0), 0.0)
    levels[100:] = np.interp(np.arange(60), [10, 50], [240.0, 200.0])
    assert may_have_shadow(picture(levels), PAPER) is True


def beside_art(row: np.ndarray) -> np.ndarray:
    """Put black art above a row: a shadow falls beside something."""
    return np.where(np.arange(SIDE)[:, None] < 30, 0.0, row)


def test_a_steep_slope_that_goes_on_is_a_shadow_and_an_edge_is_none() -> None:
    """Nine levels a pixel over ten are not calm; two pixels over all are an edge."""
    strip = np.interp(np.arange(SIDE), [40, 52, 54, 66], [240.0, 130.0, 130.0, 240.0])
    assert marked(picture(beside_art(strip))) is True
    assert marked(picture(beside_art(ramp(130.0, 2)))) is False


def test_what_a_photograph_shows_is_no_shadow() -> None:
    assert may_have_shadow(picture(ramp(180.0, 60), replace(CLEAN, sigma=0.5)), PAPER) is False


def test_a_grey_of_a_lossy_picture_may_vary_more() -> None:
    wavy = greys(180.0)[None] + np.where(greys(180.0) == 180.0, 5.0, 0.0) * (
        (np.arange(SIDE)[:, None] // 40) % 2
    )
    assert marked(picture(beside_art(wavy), LOSSY)) is False


def test_too_little_shade_is_none() -> None:
    """Seven thousandths of 160 x 160 pixels are 179 pixels."""
    for rows, expected in ((1, True), (0, False)):
        levels = np.full((SIDE, SIDE), 240.0)
        levels[60 : 60 + 6 * rows] = ramp(200.0, 40)
        levels[90:93, 30:34] = 200.0
        assert may_have_shadow(picture(levels), PAPER) is expected
