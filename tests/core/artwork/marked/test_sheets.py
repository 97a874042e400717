"""Sheets of a class in photographs: where they lie, and their number, never another one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from classphotos import SheetPhoto, field_error_mm, sheet_photo
from reliefsmith.artwork.marked import sheets
from reliefsmith.artwork.marked.sheets import photographed, read_sheet
from sheetphotos import photograph
from tiers import broad

from .flat import drawn, true


@cache
def _photo(seed: int) -> SheetPhoto:
    return sheet_photo(seed, megapixels=1.5)


@pytest.mark.parametrize("seed", broad([2, 3], lambda seed: seed == 2))
def test_a_sheet_is_placed_and_read(seed: int) -> None:
    photo = _photo(seed)
    found = read_sheet(photo.image.convert("RGB"))
    assert found.number == photo.number
    assert field_error_mm(photo, found.place) < 0.5


def test_a_sheet_is_read_with_a_thumb_on_one_mark() -> None:
    photo = sheet_photo(4, megapixels=1.5)
    for x, y in ((8, 8), (172, 242)):
        image = photo.image.convert("RGB")
        middle, edge = photo.pixels(np.array([[x, y], [x + 13.0, y]]))
        radius = float(np.hypot(*(edge - middle)))
        ImageDraw.Draw(image).ellipse([*(middle - radius), *(middle + radius)], fill=(203, 160, 130))
        found = read_sheet(image)
        assert found.number == photo.number
        assert field_error_mm(photo, found.place) < 0.7


def test_curled_paper_under_a_bent_lens_is_placed() -> None:
    photo = sheet_photo(6, megapixels=1.5, bulge=0.02, lens=0.04, tilt=25)
    found = read_sheet(photo.image.convert("RGB"))
    assert found.number == photo.number
    assert field_error_mm(photo, found.place) < 0.7


def test_a_scanned_sheet_is_read() -> None:
    """Seen from straight above, where lens, curl and scale look alike; blurred as by a scanner."""
    grey = Image.fromarray(drawn(number=812)).filter(ImageFilter.GaussianBlur(0.8))
    found = read_sheet(grey.convert("RGB"))
    assert (found.number, found.why) == (812, "")
    assert np.abs(found.place.pixels(np.array([90.0, 120.0])) - true([90, 120])).max() < 0.6


def test_marks_found_in_a_smaller_copy_are_measured_in_the_photograph(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sheets, "_LOOKED_AT_PX", (600,))
    grey = Image.fromarray(drawn(number=300)).filter(ImageFilter.GaussianBlur(0.8))
    assert grey.height > 800
    assert read_sheet(grey.convert("RGB")).number == 300


def test_a_colored_pen_on_paper_hides_neither_marks_nor_cells() -> None:
    """Red and yellow are bright in one channel, as printed ink is in none."""
    grey = drawn(number=300)
    rgb = np.repeat(grey[..., None], 3, axis=2)
    paper = grey > 100
    for at, color in (((20, 226), (240, 30, 30)), ((0, 2), (240, 230, 20))):
        left, top = np.rint(true(np.array(at))).astype(int)
        part = np.s_[top : top + 70, left : left + 200]
        rgb[part][paper[part]] = color
    found = read_sheet(Image.fromarray(rgb).filter(ImageFilter.GaussianBlur(0.8)))
    assert (rgb.min(axis=2)[paper] < 60).sum() > 5000
    assert found.number == 300


def test_a_photograph_that_lies_on_its_side_in_the_file_is_read(tmp_path: Path) -> None:
    photo = _photo(2)
    path = tmp_path / "side.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6  # shown turned right (EXIF 2.3)
    photo.image.convert("RGB").transpose(Image.Transpose.ROTATE_90).save(path, quality=90, exif=exif)
    image = photographed(path)
    assert image.size == photo.image.size
    found = read_sheet(image)
    assert found.number == photo.number
    assert field_error_mm(photo, found.place) < 0.5


def test_no_number_is_read_where_there_is_no_sheet_of_a_class() -> None:
    for seed in range(2):
        assert read_sheet(photograph(seed, megapixels=1.0).image.convert("RGB")).number is None


def test_two_sheets_in_one_picture_are_none() -> None:
    photos = [sheet_photo(seed, megapixels=0.8, table="plain").image.convert("RGB") for seed in (1, 2)]
    both = Image.new(
        "RGB", (sum(one.width for one in photos), max(one.height for one in photos)), (90, 90, 90)
    )
    both.paste(photos[0], (0, 0))
    both.paste(photos[1], (photos[0].width, 0))
    found = read_sheet(both)
    assert found.number is None
    assert found.why == "more than one sheet is in the picture"
