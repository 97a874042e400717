"""Photographs of a class's sheets by lot: nearly all placed within 0.7 mm, and never a wrong number."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from classphotos import field_error_mm, rough_photo, sheet_photo
from reliefsmith.artwork.marked.numbering import marks_seen, read_number
from reliefsmith.artwork.marked.sheets import read_sheet
from sheetphotos import photograph

pytestmark = pytest.mark.deep

PHOTOS, ROUGH, WHOLE = 300, 10_000, 1_000
FIRST = 1000
MOST_MM = 0.7


def test_sheets_are_placed_and_read_and_no_number_is_wrong() -> None:
    """To 40 degrees, 3 to 12 megapixels, shadows, blur, noise, JPEG 70, strokes over line and marks."""
    offs = []
    for seed in range(FIRST, FIRST + PHOTOS):
        photo = sheet_photo(seed)
        found = read_sheet(photo.image.convert("RGB"))
        assert found.number in (photo.number, None), seed
        offs.append(np.inf if found.place is None else field_error_mm(photo, found.place))
    offs = np.array(offs)
    told = f"{(offs <= MOST_MM).sum()} of {PHOTOS} within {MOST_MM} mm, median {np.median(offs):.3f} mm"
    print(f"{told}, worst {offs[np.isfinite(offs)].max():.3f} mm, unread {np.isinf(offs).sum()}")
    assert (offs <= MOST_MM).mean() >= 0.97, told


def test_no_bad_photograph_gives_a_wrong_number() -> None:
    """Strokes and thumbs over the cells, where the sheet lies known: what is read is right or nothing."""
    right = 0
    for seed in range(ROUGH):
        grey, place, number = rough_photo(np.random.default_rng([11, seed]))
        ink = marks_seen(grey, place)
        found = None if ink is None else read_number(grey, place, ink)[0]
        assert found in (number, None), seed
        right += found == number
    print(f"{right} of {ROUGH} read, none wrong")
    assert right > 0.3 * ROUGH


def test_no_bad_photograph_is_placed_so_that_its_number_is_wrong() -> None:
    for seed in range(WHOLE):
        grey, _, number = rough_photo(np.random.default_rng([12, seed]))
        found = read_sheet(Image.merge("RGB", [Image.fromarray(grey)] * 3))
        assert found.number in (number, None), seed


def test_no_number_is_read_where_there_is_none() -> None:
    for seed in range(FIRST, FIRST + 60):
        assert read_sheet(photograph(seed).image.convert("RGB")).number is None, seed
