"""Small patches: what the colors round them explain goes, what was drawn stays; slivers."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture
from reliefsmith.color.cost import Judge
from reliefsmith.color.mixing import Mixing
from reliefsmith.color.patches import without_cheap_patches
from reliefsmith.polygons.runs import find_pieces

from .pictures import Sheet, assert_colors, label_of, separated

INK, PLATE = "#14213d", "#e8792b"
COLORS = np.array([(255, 255, 255), (200, 30, 40), (20, 20, 60), (20, 22, 63)], np.float64)
CLEAN, LOSSY = Capture(0.0, False, False, 1.0), Capture(0.0, True, True, 1.0)


def cleaned(
    labels: np.ndarray, capture: Capture, colors: np.ndarray = COLORS, calm: np.ndarray | None = None
) -> np.ndarray:
    """Clean the labels of a picture that shows each in its color; nothing is calm if not told so."""
    shown = colors[labels].astype(np.uint8)
    seeds = np.full(labels.shape, 255, np.uint8) if calm is None else np.where(calm, labels, 255)
    mixing = Mixing(tuple(shown[..., channel].copy() for channel in range(3)), None)
    return without_cheap_patches(labels, seeds.astype(np.uint8), mixing, Judge(colors, capture))


def halves(size: int = 40) -> np.ndarray:
    labels = np.zeros((size, size), np.uint8)
    labels[:, size // 2 :] = 1
    return labels


@pytest.mark.parametrize("capture", [CLEAN, LOSSY])
def test_patches_of_three_pixels_go_to_their_neighbors_and_of_four_stay(capture: Capture) -> None:
    labels = halves()
    labels[5, 5:8] = 2
    kept = halves()
    for at in (labels, kept):
        at[30:32, 30:32] = 2
        at[10:13, 10:13] = 2
    np.testing.assert_array_equal(cleaned(labels, capture), kept)


@pytest.mark.parametrize("capture", [CLEAN, LOSSY])
@pytest.mark.parametrize("times", [2, 3])
def test_in_an_enlarged_picture_pixels_of_the_source_count(capture: Capture, times: int) -> None:
    enlarged = Capture(capture.sigma, capture.lossy, capture.saved_lossy, float(times))
    labels = halves()
    labels[5, 5:8] = 2
    labels[30:32, 30:32] = 2
    labels = labels.repeat(times, axis=0).repeat(times, axis=1)
    pieces = find_pieces(cleaned(labels, enlarged))
    assert pieces.areas[pieces.labels == 2].tolist() == [4 * times**2]


@pytest.mark.parametrize("capture", [CLEAN, LOSSY])
@pytest.mark.parametrize("width", [2, 4])
def test_a_strip_of_the_mix_along_an_edge_is_no_patch_unless_it_is_calm(capture: Capture, width: int) -> None:
    labels = halves()
    labels[5:35, 20 - width // 2 : 20 + width // 2] = 2
    mixed = np.array([COLORS[0], COLORS[1], (COLORS[0] + COLORS[1]) / 2])
    np.testing.assert_array_equal(cleaned(labels, capture, mixed), halves())
    np.testing.assert_array_equal(cleaned(labels, capture, mixed, calm=labels == 2), labels)


@pytest.mark.parametrize(
    ("patch", "stays"), [((20, 20, 60), True), ((228, 142, 148), False), ((180, 10, 20), False)]
)
def test_a_patch_of_a_lossy_picture_stays_if_the_colors_round_it_do_not_explain_it(
    patch: tuple[int, int, int], stays: bool
) -> None:
    """The second is the mix of both, the third the darker one as its edge rings."""
    labels = halves()
    labels[18:22, 18:22] = 2
    colors = np.array([*COLORS[:2], patch])
    np.testing.assert_array_equal(cleaned(labels, LOSSY, colors), labels if stays else halves())


@pytest.mark.parametrize("capture", [CLEAN, LOSSY])
def test_of_neighbors_that_explain_each_other_not_both_go(capture: Capture) -> None:
    labels = np.zeros((40, 40), np.uint8)
    labels[10:20, 10:14], labels[10:20, 14:18] = 2, 3
    np.testing.assert_array_equal(cleaned(labels, capture), labels)


@pytest.mark.parametrize("sigma", [0.0, 6.0])
def test_noise_makes_a_faint_patch_dearer(sigma: float) -> None:
    faint = np.array([(255, 255, 255), (245, 240, 238)], np.float64)
    labels = np.zeros((40, 40), np.uint8)
    labels[10:13, 10:13] = 1
    found = cleaned(labels, Capture(sigma, False, False, 1.0), faint)
    np.testing.assert_array_equal(found, labels if sigma == 0.0 else np.zeros_like(labels))


def test_thin_diagonal_lines_are_no_specks() -> None:
    labels = np.eye(30, dtype=np.uint8)
    np.testing.assert_array_equal(cleaned(labels, CLEAN), labels)


def test_a_speck_at_the_border_and_a_map_of_one_label() -> None:
    labels = np.zeros((20, 20), np.uint8)
    assert cleaned(labels, LOSSY) is labels
    labels[0, 0] = 3
    assert not cleaned(labels, CLEAN).any()


def marks(sheet: Sheet) -> Sheet:
    """Draw 36 rings and 36 bars of 2.5 px strokes, as small as letters, amid a few areas."""
    sheet.box(30, 30, 370, 60, INK)
    for k in range(36):
        x, y = 45.0 + 36.3 * (k % 9), 110.0 + 70.4 * (k // 9)
        sheet.disc(x, y, 6.5, INK).disc(x, y, 4.0, PLATE)
        sheet.line([(x - 5.5, y + 22.0), (x + 5.5, y + 27.0)], 2.5, INK)
    return sheet


@pytest.mark.parametrize("quality", [0, 75, 90])
def test_thin_marks_and_their_counters_stay(quality: int) -> None:
    result = separated(marks(Sheet(400).box(10, 10, 390, 390, PLATE)).artwork(quality))
    assert_colors(result, [PLATE, INK], tolerance=3.0)
    pieces = find_pieces(result.labels, diagonal=True)
    ink, plate = label_of(result, INK), label_of(result, PLATE)
    assert np.count_nonzero(pieces.labels == ink) == 1 + 36 + 36
    assert np.count_nonzero(pieces.labels == plate) == 1 + 36


def test_a_picture_of_small_patches_only_stays_as_it_is() -> None:
    """There is no area for a dot to belong to; in a larger picture it goes."""
    for size, stays in ((16, True), (40, False)):
        labels = halves(size)
        labels[5, 3:5] = 2
        assert (cleaned(labels, CLEAN)[5, 3] == 2) == stays
