"""Pictures blown up without smoothing are read as the small ones they were; pixel art stays as drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from reliefsmith.artwork import read
from reliefsmith.artwork.blocks import shrunk
from reliefsmith.model import Artwork
from reliefsmith.recipe.sections import ArtworkSettings

KITE = [(14, 3), (25, 17), (13, 37), (4, 16)]


def lantern(side: int, color: str = "#c8281e") -> Image.Image:
    """Draw a lantern's disc and a kite with smooth edges on white."""
    page = Image.new("RGB", (side * 8, side * 8), "white")
    pen = ImageDraw.Draw(page)
    pen.ellipse([side * 8 * 0.4, side * 8 * 0.3, side * 8 * 0.9, side * 8 * 0.8], fill=color)
    pen.polygon([(x * side * 0.2, y * side * 0.2) for x, y in KITE], fill="#1c3f8c")
    return page.resize((side, side), Image.Resampling.BOX)


def blown(image: Image.Image, side: int) -> Image.Image:
    return image.resize((image.width * side, image.height * side), Image.Resampling.NEAREST)


@given(st.integers(2, 9), st.sampled_from(["L", "RGB", "RGBA", "P"]), st.integers(30, 60))
def test_blocks_shrink_to_the_pixels_they_were(side: int, mode: str, pixels: int) -> None:
    small = lantern(pixels).quantize(128) if mode == "P" else lantern(pixels).convert(mode)
    found, found_side = shrunk(blown(small, side))
    assert found_side == side
    assert found.tobytes() == small.tobytes()


@given(st.integers(2, 6), st.integers(1, 5))
def test_blocks_that_do_not_fill_the_picture_stay(side: int, cut: int) -> None:
    large = blown(lantern(48), side)
    part = large.crop((0, 0, large.width - (cut % (side - 1) + 1 if side > 2 else 1), large.height))
    assert shrunk(part) == (part, 1)


def test_one_odd_pixel_is_enough_to_leave_a_picture_alone() -> None:
    large = blown(lantern(48), 4)
    large.putpixel((101, 7), (1, 2, 3))
    assert shrunk(large) == (large, 1)


@pytest.mark.parametrize("colors", [2, 4])
def test_pixel_art_stays_in_its_squares(colors: int) -> None:
    art = np.random.default_rng(4).integers(0, colors, (24, 24)).astype(np.uint8) * np.uint8(200 // colors)
    large = blown(Image.fromarray(art).convert("RGB"), 10)
    assert shrunk(large) == (large, 1)


@given(st.integers(20, 60))
def test_an_empty_picture_stays(side: int) -> None:
    page = Image.new("RGB", (side, side), "white")
    assert shrunk(page) == (page, 1)


@pytest.mark.parametrize("side", [3, 20])
def test_a_blown_up_picture_is_read_as_the_small_one(tmp_path: Path, side: int) -> None:
    def as_read(image: Image.Image) -> Artwork:
        image.save(tmp_path / "art.png")
        return read(tmp_path / "art.png", ArtworkSettings())

    small = lantern(120)
    want, got = as_read(small), as_read(blown(small, side))
    assert np.array_equal(got.rgb, want.rgb)
    assert got.source_px == (120 * side, 120 * side)
    assert got.scale * side == pytest.approx(want.scale, rel=1e-12)
