"""Which pixels show a color undiluted, and what there is of art."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.background import Ground
from reliefsmith.color.capture import Capture
from reliefsmith.color.find import UNLABELED, _art_pixels, _bin_labels, _never_empty, mixing_colors
from reliefsmith.color.modes import Bins, Clusters
from reliefsmith.color.palette import Choice
from reliefsmith.colorimetry import srgb_to_lab
from reliefsmith.model import Artwork

CLEAN, NOISY = Capture(0.0, False, False, 1.0), Capture(3.0, True, True, 1.0)
WHITE, RED, BLUE = np.array([[255.0, 255, 255], [200, 30, 40], [20, 60, 200]])
ON_WHITE, CUT_OUT = Ground(WHITE, exists=True), Ground(None, exists=True)
NOTHING = Choice(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, np.int64))


def bins(*means: np.ndarray) -> Bins:
    table = np.array(means, np.float64).reshape(-1, 3)
    return Bins(np.arange(len(table)) * 7, np.full(len(table), 10.0), table, srgb_to_lab(table))


def labels(
    found: Bins, of_bin: list[int], choice: Choice, ground: Ground, capture: Capture = CLEAN
) -> list[int]:
    clusters = Clusters(
        np.zeros((len(choice.of_cluster), 3)), np.zeros(len(choice.of_cluster)), np.array(of_bin, int)
    )
    return _bin_labels(found, clusters, choice, ground, capture).tolist()


TWO = Choice(np.array([RED, BLUE]), np.array([RED, BLUE]), np.array([1, -1, -2, 0]))


def test_bins_of_a_mode_follow_it_to_its_color_the_ground_or_none() -> None:
    found = bins(BLUE, WHITE, [90, 200, 60], RED)
    assert labels(found, [0, 1, 2, 3], TWO, ON_WHITE) == [2, 0, UNLABELED, 1]


@pytest.mark.parametrize(("capture", "reach"), [(CLEAN, 12.0), (NOISY, 25.5)])
def test_lone_bins_take_the_nearest_color_within_a_reach_that_noise_widens(
    capture: Capture, reach: float
) -> None:
    green, blue = np.eye(3)[1:]
    near, far, pale = RED + reach * green, RED + (reach + 0.5) * green, WHITE - reach * blue
    assert labels(bins(near, far, pale), [-1, -1, -1], TWO, ON_WHITE, capture) == [1, UNLABELED, 0]


def test_without_a_color_of_the_ground_lone_bins_take_one_of_the_art() -> None:
    assert labels(bins(WHITE, BLUE + 3), [-1, -1], TWO, CUT_OUT) == [UNLABELED, 2]


def test_of_a_picture_without_a_color_no_pixel_shows_one() -> None:
    assert labels(bins(RED), [-1], NOTHING, CUT_OUT) == [UNLABELED]
    assert labels(bins(), [], TWO, ON_WHITE) == []


def test_art_is_what_is_opaque_or_unlike_the_ground() -> None:
    alpha = np.array([[0.4, 0.6], [1.0, 0.5]], np.float32)
    rgb = np.zeros((2, 2, 3), np.uint8)
    cut = Artwork(rgb, alpha, (2, 2), 1.0, True, False)
    assert _art_pixels(cut, bins(RED), CUT_OUT) == 2.0
    opaque = Artwork(
        np.zeros((10, 10, 3), np.uint8), np.ones((10, 10), np.float32), (10, 10), 1.0, False, False
    )
    assert _art_pixels(opaque, bins(RED, WHITE, WHITE - 4), ON_WHITE) == 80.0
    assert _art_pixels(opaque, bins(RED, WHITE), Ground(WHITE, exists=False)) == 100.0


def test_a_picture_full_of_one_wild_color_still_has_one() -> None:
    framed = Ground(RED, exists=False)
    assert _never_empty(NOTHING, framed).colors.tolist() == [RED.tolist()]
    assert _never_empty(NOTHING, ON_WHITE) is NOTHING
    assert _never_empty(NOTHING, CUT_OUT) is NOTHING
    assert _never_empty(TWO, framed) is TWO


def test_colors_stand_in_the_mixing_space_with_the_ground_first() -> None:
    shown = np.array([RED, BLUE])
    assert mixing_colors(shown, ON_WHITE, 3).tolist() == [WHITE.tolist(), RED.tolist(), BLUE.tolist()]
    assert mixing_colors(shown, CUT_OUT, 4).tolist() == [[0, 0, 0, 0], [*RED, 255], [*BLUE, 255]]
