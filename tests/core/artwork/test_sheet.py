"""Sheets of paper in photographs: found where they are sure, made straight, and said."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from reliefsmith.artwork.read import read
from reliefsmith.artwork.sheet.search import find_sheet
from reliefsmith.documents.canvas import Canvas
from reliefsmith.documents.proof.source_figure import SOURCE_MM, draw_sheet_found
from reliefsmith.model import FoundSheet
from reliefsmith.recipe.sections import ArtworkSettings
from sheetphotos import PAGES_MM, page_picture, photograph
from tiers import broad

from .sheet.easy import EASY, easy, off_px

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])


def _kept(image: Image.Image, file: Path, **how) -> Path:
    image.convert("RGB").save(file, quality=95, **how)
    return file


@pytest.fixture(scope="module")
def photo():
    return easy()


@pytest.fixture(scope="module")
def file(photo, tmp_path_factory) -> Path:
    return _kept(photo.image, tmp_path_factory.mktemp("sheet") / "photo.jpg")


@pytest.fixture(scope="module")
def straight(file):
    return read(file, ArtworkSettings())


def _codes(artwork) -> set[str]:
    return {item.code for item in artwork.notes}


def test_the_sheet_is_found_and_made_straight(photo, straight) -> None:
    assert {"sheet-found", "sheet-straightened"} <= _codes(straight)
    assert off_px(straight.sheet.corners, photo.corners) < 1.0
    sides = sorted(straight.source_px)
    assert sides[1] / sides[0] == pytest.approx(297 / 210, rel=0.01)


def test_paper_that_was_made_straight_is_evened_though_compression_left_no_noise(tmp_path: Path) -> None:
    photograph(31, megapixels=1.0).image.convert("RGB").save(tmp_path / "photo.jpg", quality=75)
    artwork = read(tmp_path / "photo.jpg", ArtworkSettings())
    assert artwork.sheet is not None
    assert "light-divided" in [item.code for item in artwork.notes]
    ring = np.concatenate([artwork.rgb[:20].reshape(-1, 3), artwork.rgb[-20:].reshape(-1, 3)])
    assert np.median(ring, axis=0) == pytest.approx([255, 255, 255], abs=4)
    assert (ring.min(axis=1) > 235).mean() > 0.9  # a pen lies over the upper side


def test_the_frame_leads_from_the_straight_sheet_to_the_photograph(photo, straight) -> None:
    wide, tall = straight.source_px
    ends = np.array([[0, 0, 1], [wide, 0, 1], [wide, tall, 1], [0, tall, 1]])
    there = ends @ np.array(straight.to_source).reshape(3, 3).T
    there = there[:, :2] / there[:, 2:]
    assert off_px(there, photo.corners) < 0.02 * max(photo.image.size)  # the sheet's edge is left off
    assert (np.abs(there - straight.sheet.corners).max(axis=1) < 0.02 * max(photo.image.size)).all()


def test_the_note_says_the_corners_and_the_way_out(straight) -> None:
    words = next(item.message for item in straight.notes if item.code == "sheet-found")
    assert all(f"({x:.0f}, {y:.0f})" in words for x, y in straight.sheet.corners)
    assert "artwork.corners" in words
    assert "artwork.kind" in words


def test_a_photograph_that_lies_on_its_side_gives_the_same_sheet(photo, straight, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.3: the row 0 is the right-hand side
    lying = photo.image.convert("RGB").transpose(Image.Transpose.ROTATE_90)
    turned = read(_kept(lying, tmp_path / "turned.jpg", exif=exif), ArtworkSettings())
    upright = ImageOps.exif_transpose(Image.open(tmp_path / "turned.jpg"))
    assert upright.size == photo.image.size
    assert np.abs(turned.sheet.corners - straight.sheet.corners).max() < 0.5


@pytest.mark.parametrize(
    "values",
    [{"kind": "flat"}, {"crop": (0.0, 0.0, 300.0, 300.0)}, {"corners": tuple(map(tuple, 3 * SQUARE))}],
)
def test_nothing_is_sought_where_the_user_says_what_the_picture_is(values, file) -> None:
    artwork = read(file, ArtworkSettings(**values))
    assert artwork.sheet is None
    assert not {"sheet-found", "sheet-not-found"} & _codes(artwork)


def test_without_the_extra_a_note_says_what_to_do(file, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "reliefsmith.artwork.sheet.search", None)  # as if not installed
    artwork = read(file, ArtworkSettings(kind="paper"))
    words = [item.message for item in artwork.notes if item.code == "sheet-not-found"]
    assert artwork.sheet is None
    assert len(words) == 1
    assert "reliefsmith[photo]" in words[0]
    assert "artwork.corners" in words[0]


@pytest.mark.parametrize("table", broad(["checked cloth", "tiles"], lambda table: table == "tiles"))
def test_a_bare_table_has_no_sheet(table, tmp_path: Path) -> None:
    photo = photograph(3, table=table, sheet=False, **EASY)
    path = _kept(photo.image, tmp_path / "table.jpg")
    assert find_sheet(np.asarray(photo.image.convert("RGB"))) is None
    artwork = read(path, ArtworkSettings(kind="paper"))
    assert artwork.sheet is None
    assert artwork.source_px == photo.image.size
    assert {"sheet-not-found"} == _codes(artwork) & {"sheet-found", "sheet-not-found", "sheet-straightened"}


def _drawing() -> Image.Image:
    page = page_picture(np.random.default_rng(1), PAGES_MM["A5"], {"grass": True, "border": True})
    return Image.fromarray(page.astype(np.uint8))


def test_a_drawing_costs_no_library_of_photographs(tmp_path: Path) -> None:
    _drawing().save(tmp_path / "drawing.png")
    code = (
        "import sys; from pathlib import Path; from reliefsmith.artwork.read import read;"
        "from reliefsmith.recipe.sections import ArtworkSettings;"
        f"notes = read(Path({str(tmp_path / 'drawing.png')!r}), ArtworkSettings()).notes;"
        "assert not [item for item in notes if item.code.startswith('sheet')];"
        "assert 'skimage' not in sys.modules and 'scipy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_proof_shows_the_outline() -> None:
    shown = np.full((300, 400, 3), 128, np.uint8)
    corners = np.array([[400.0, 200.0], [1200.0, 240.0], [1240.0, 1000.0], [380.0, 980.0]])
    canvas = Canvas(60.0, 60.0)
    draw_sheet_found(canvas, (5.0, 5.0), (SOURCE_MM, SOURCE_MM), FoundSheet(shown, corners, 0.25, 0.0))
    page = np.asarray(canvas.image).astype(int)
    grey = np.argwhere((page == 128).all(axis=2))
    (top, left), right = grey.min(axis=0), grey[:, 1].max()
    size = (right - left) / 1600.0
    for (x, y), (u, v) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        row, column = round(top + (y + v) / 2 * size), round(left + (x + u) / 2 * size)
        near = page[row - 3 : row + 4, column - 3 : column + 4].reshape(-1, 3)
        assert (np.abs(near - (216, 27, 96)).max(axis=1) < 9).any()
