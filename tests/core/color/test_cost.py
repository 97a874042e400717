"""Prices: what a pixel that known colors leave open costs, in squares of noise; what a color must gain."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture
from reliefsmith.color.cost import MOST_OPEN, Judge, by_nearness, color_price, hidden_price, spread

CLEAN, LOSSY = Capture(0.0, False, False, 1.0), Capture(0.0, True, True, 1.0)
KNOWN = np.array([[200.0, 30, 40], [255, 255, 255], [20, 60, 200]])
ALL = np.uint16(7)
NONE = np.zeros(1, np.uint16)


def left(judge: Judge, color: np.ndarray, near: int = 7, *, calm: bool = False) -> float:
    at = np.asarray(color, np.float64)[:, None]
    return float(judge.left_open(at, np.array([near], np.uint16), np.array([calm]))[0])


def test_a_mix_of_two_near_colors_costs_nothing() -> None:
    judge = Judge(KNOWN, CLEAN)
    for part in (0.0, 0.3, 1.0):
        assert left(judge, KNOWN[0] + part * (KNOWN[1] - KNOWN[0])) == pytest.approx(0.0, abs=1e-6)


def test_a_calm_pixel_does_not_mix() -> None:
    judge = Judge(KNOWN, CLEAN)
    assert left(judge, (KNOWN[0] + KNOWN[1]) / 2, calm=True) == MOST_OPEN
    assert left(judge, KNOWN[1], calm=True) == pytest.approx(0.0, abs=1e-6)


def test_only_near_colors_explain() -> None:
    judge = Judge(KNOWN, CLEAN)
    middle = (KNOWN[0] + KNOWN[1]) / 2
    assert left(judge, middle, 0b011) == pytest.approx(0.0, abs=1e-6)
    assert left(judge, middle, 0b101) == MOST_OPEN
    assert left(judge, KNOWN[0], 0) == MOST_OPEN


@pytest.mark.parametrize(
    ("judge", "noise"),
    [
        (Judge(KNOWN[:1], CLEAN), 4.0),
        (Judge(KNOWN[:1], CLEAN, calm=True), 2.5),
        (Judge(KNOWN[:1], Capture(2.0, False, False, 1.0)), 7.0),
    ],
)
def test_what_is_left_counts_in_squares_of_noise(judge: Judge, noise: float) -> None:
    assert left(judge, KNOWN[0] + [0, 0, 2 * noise], 1) == pytest.approx(4.0, rel=1e-5)
    assert left(judge, KNOWN[0] + [0, 0, 7 * noise], 1) == MOST_OPEN


def test_two_hundredths_of_the_contrast_between_near_colors_ring_in_lossy_pictures() -> None:
    """Greys lie sqrt(3) times as far apart as their levels; the contrast that counts is the greatest."""
    known = np.array([[0.0, 0, 0], [240, 240, 240], [90, 90, 90]])
    yellow = known[1] + 30 * np.array([0.114, 0.114, 0.114 - 1])  # of the same luma
    alone, two, three = (left(Judge(known, LOSSY), yellow, near) for near in (0b010, 0b110, 0b111))
    assert alone / two == pytest.approx(((4 + 0.02 * 150 * 3**0.5) / 4) ** 2, rel=0.01)
    assert alone / three == pytest.approx(((4 + 0.02 * 240 * 3**0.5) / 4) ** 2, rel=0.01)
    clean = [left(Judge(known, CLEAN), known[1] + [0, 0, -8.0], near) for near in (0b010, 0b111)]
    assert clean[0] == pytest.approx(4.0)
    assert clean[1] == pytest.approx(4.0 * 2 / 3)


def test_a_tint_is_explained_in_lossy_pictures_only() -> None:
    """White with a fifth of a red's chroma, as chroma bleeds over an edge."""
    white, red = KNOWN[1], KNOWN[0]
    weights = np.array([0.299, 0.587, 0.114])
    tint = white + 0.2 * ((red - red @ weights) - (white - white @ weights))
    near = np.array([0b011], np.uint16)
    assert Judge(KNOWN, LOSSY).left_open_beside(tint[:, None], NONE, near)[0] == pytest.approx(0.0, abs=0.05)
    assert Judge(KNOWN, CLEAN).left_open_beside(tint[:, None], NONE, near)[0] == MOST_OPEN
    assert Judge(KNOWN, LOSSY).left_open_beside(tint[:, None], NONE, np.array([0b110], np.uint16))[0] > 3


def test_colors_of_cut_out_pictures_have_no_luma() -> None:
    """Four channels mix by one part even where the file was lossy."""
    known = np.array([[0.0, 0, 0, 0], [200, 30, 40, 255]])
    lossy, clean = Judge(known, LOSSY), Judge(known, CLEAN)
    half = known[1] / 2
    assert left(lossy, half, 0b11) == pytest.approx(left(clean, half, 0b11), abs=1e-6)
    assert lossy.left_open_beside(half[:, None], NONE, np.array([3], np.uint16))[0] == MOST_OPEN


def test_apart_is_the_distance_to_the_nearest_known_color() -> None:
    judge = Judge(KNOWN, CLEAN)
    values = np.stack([KNOWN[0] + [8.0, 0, 0], KNOWN[1], KNOWN[2] + [0.0, 90, 0]], axis=1)
    assert judge.apart(values) == pytest.approx([4.0, 0.0, MOST_OPEN])


def test_the_reach_of_mixing_grows_with_enlarging() -> None:
    assert spread(CLEAN) == 4
    assert spread(Capture(0.0, False, False, 2.5)) == 10
    assert spread(Capture(0.0, False, False, 0.5)) == 4


def test_a_color_must_gain_some_pixels_that_nothing_explains() -> None:
    assert color_price(1000.0, CLEAN, pure=True) == pytest.approx(1.5 * MOST_OPEN)
    for capture in (CLEAN, LOSSY):
        assert color_price(1000.0, capture, pure=False) == pytest.approx(12 * MOST_OPEN)
    assert hidden_price(1000.0, LOSSY) == pytest.approx(12 * MOST_OPEN)
    assert hidden_price(1000.0, CLEAN) == pytest.approx(48 * MOST_OPEN)
    assert color_price(1e6, CLEAN, pure=True) == pytest.approx(35 * MOST_OPEN)
    enlarged = Capture(0.0, False, False, 2.0)
    assert color_price(1e6, enlarged, pure=True) == pytest.approx(8.75 * MOST_OPEN)


def test_what_any_colors_explain_of_edges_is_no_color_and_less_of_what_lies_amid_a_patch() -> None:
    """A clean junction mixes three; a lossy edge has the luma of one kind and the chroma of another."""
    third = KNOWN.mean(axis=0)
    inner = np.array([True])
    for known, expected in ((KNOWN, 0.0), (KNOWN[:2], MOST_OPEN)):
        left = Judge(known, CLEAN).left_open_by_any(third[:, None].astype(np.float32), inner)
        assert left[0] == pytest.approx(expected, abs=1e-3)
    white, red = KNOWN[1], KNOWN[0]
    weights = np.array([0.299, 0.587, 0.114])
    tint = (white + 0.5 * ((red - red @ weights) - (white - white @ weights)))[:, None].astype(np.float32)
    edge, amid = (Judge(KNOWN[:2], LOSSY).left_open_by_any(tint, flags)[0] for flags in (~inner, inner))
    assert edge == pytest.approx(0.0, abs=0.1)
    assert amid > 4.0


def test_a_color_near_to_another_must_gain_more() -> None:
    assert by_nearness(30.0, np.array([20.0, 14.0, 0.0])) == pytest.approx([30.0, 30.0, 30 / 197])
