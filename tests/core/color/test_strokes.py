"""Small patches of compressed pictures: thin letters and their counters stay, ringing goes."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.mixing import mixing_planes
from reliefsmith.color.strokes import with_strokes
from reliefsmith.model.artwork import Artwork
from reliefsmith.polygons.runs import find_pieces

from .pictures import Sheet, assert_colors, label_of, separated

INK, PLATE = "#14213d", "#e8792b"


def marks(sheet: Sheet) -> Sheet:
    """Draw 36 rings and 36 bars of 2.5 px strokes, as small as letters, amid a few areas."""
    sheet.box(30, 30, 370, 60, INK)
    for k in range(36):
        x, y = 45.0 + 36.3 * (k % 9), 110.0 + 70.4 * (k // 9)
        sheet.disc(x, y, 6.5, INK).disc(x, y, 4.0, PLATE)
        sheet.line([(x - 5.5, y + 22.0), (x + 5.5, y + 27.0)], 2.5, INK)
    return sheet


@pytest.mark.parametrize("quality", [75, 90])
def test_thin_marks_and_their_counters_stay(quality: int) -> None:
    result = separated(marks(Sheet(400).box(10, 10, 390, 390, PLATE)).artwork(quality))
    assert_colors(result, [PLATE, INK], tolerance=3.0)
    pieces = find_pieces(result.labels, diagonal=True)
    ink, plate = label_of(result, INK), label_of(result, PLATE)
    assert np.count_nonzero(pieces.labels == ink) == 1 + 36 + 36
    assert np.count_nonzero(pieces.labels == plate) == 1 + 36


def picture(patch: tuple[int, int, int]) -> tuple[Artwork, np.ndarray]:
    """White beside red, labels 0 and 1, and a patch labeled 2 of 4 x 4 px along their edge."""
    rgb = np.full((40, 40, 3), 255, np.uint8)
    rgb[:, 20:] = (200, 30, 40)
    labels = np.zeros((40, 40), np.uint8)
    labels[:, 20:] = 1
    rgb[18:22, 18:22], labels[18:22, 18:22] = patch, 2
    return Artwork(rgb, np.ones((40, 40), np.float32), (40, 40), 1.0, False, True), labels


@pytest.mark.parametrize(
    ("patch", "stays"), [((20, 20, 60), True), ((228, 142, 148), False), ((180, 10, 20), False)]
)
def test_a_patch_stays_if_the_colors_round_it_do_not_explain_it(
    patch: tuple[int, int, int], stays: bool
) -> None:
    """The second is the mix of both, the third the darker one as its edge rings."""
    artwork, drawn = picture(patch)
    cleaned = np.where(drawn == 2, np.arange(40) >= 20, drawn).astype(np.uint8)
    known = np.array([(255, 255, 255), (200, 30, 40), patch], np.float64)
    result = with_strokes(drawn, cleaned, mixing_planes(artwork), known)
    np.testing.assert_array_equal(result, drawn if stays else cleaned)
