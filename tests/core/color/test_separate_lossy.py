"""Separation of compressed, noisy and enlarged pictures: what they add along edges is no color."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork.read import read
from reliefsmith.model.artwork import Artwork
from reliefsmith.recipe.sections import ArtworkSettings

from .pictures import Sheet, assert_colors, separated

BLUE = "#1e5fd0"


def test_ripples_beside_an_edge_are_no_strip_of_a_third_color() -> None:
    """JPEG overshoots beside green on grey; the overshoot lies toward the white that is elsewhere."""
    sheet = Sheet(400, "#b8b8b8").box(60, 60, 241, 340, "#399408").box(280, 60, 360, 340, "#ffffff")
    found = separated(sheet.artwork(quality=60))
    white = 1 + int(np.argmax(found.colors.min(axis=1)))
    assert found.lossy
    assert (found.labels[:, :270] != white).all()


@pytest.mark.parametrize("seed", range(3))
def test_a_color_just_five_from_white_paper_stays_a_color_under_noise(seed: int) -> None:
    """#e6e6e6 is 5.2 from white by CIEDE2000; in a photograph both come out a level or so off."""
    clean = Sheet(500, "#fefefe").box(60, 60, 440, 250, "#e7e7e6").box(60, 250, 440, 440, BLUE).artwork()
    noise = np.random.default_rng(seed).normal(0, 1.2, clean.rgb.shape)
    noisy = np.clip(clean.rgb + noise + 0.5, 0, 255).astype(np.uint8)
    result = separated(Artwork(noisy, clean.alpha, (500, 500), 1.0, False, True))
    assert_colors(result, ["#e6e6e6", BLUE], tolerance=1.5)


def test_a_tint_that_rings_along_a_straight_edge_is_no_color() -> None:
    """JPEG's chroma rings over six pixels beside a long edge: calm, and opposite to the color inside."""
    artwork = (
        Sheet(1000, "#b7b7b7").box(80, 40, 940, 960, "#009b01").box(120, 80, 420, 380, "#ffffff").artwork()
    )
    rgb = artwork.rgb.copy()
    rgb[45:225, 942:948] = (190, 174, 200)  # as seen on a flag saved at quality 60
    ringing = replace(artwork, rgb=rgb, lossy=True)
    assert_colors(separated(ringing), ["#009b01", "#ffffff"])


@pytest.mark.parametrize(
    ("ground", "ink", "tint"),
    [("#fdc01a", "#2f2f2f", (52, 41, 64)), ("#b8b8b8", "#132027", (17, 31, 45))],
    ids=["away from yellow", "one step off"],
)
def test_a_tint_of_a_dark_color_along_its_edges_is_no_color(
    ground: str, ink: str, tint: tuple[int, int, int]
) -> None:
    """As seen in dark lines saved at quality 60: luma is the line's own, chroma alone strays."""
    sheet = Sheet(1000, "#ffffff" if ink == "#2f2f2f" else ground).box(100, 100, 900, 900, ground)
    for left in range(200, 800, 100):
        sheet.box(left, 200, left + 40, 800, ink)
    artwork = sheet.artwork()
    rgb = artwork.rgb.copy()
    for left in range(200, 800, 100):
        rgb[220:780, left + 3 : left + 9] = tint
    found = separated(replace(artwork, rgb=rgb, lossy=True))
    assert_colors(found, [ink] if ground == "#b8b8b8" else [ground, ink], tolerance=1.0)


@pytest.mark.parametrize("width", [12, 13, 16, 24])
def test_bands_of_a_near_color_are_found_in_a_compressed_picture(width: int) -> None:
    """Dusk violet, 5 from what it lies on: the narrower its bands, the fewer of their pixels lie amid it."""
    sheet = Sheet(900).box(100, 100, 800, 800, "#635994").box(100, 700, 800, 800, "#ff9f2e")
    for top in range(200, 600, 100):
        sheet.box(150, top, 400, top + width, "#7167a4")
    found = separated(sheet.artwork(80))
    assert_colors(found, ["#635994", "#ff9f2e", "#7167a4"], tolerance=2.0)


def test_a_soft_edge_between_two_near_colors_is_no_third_one(tmp_path: Path) -> None:
    """Enlarging leaves the middle between grey and a near violet so flat that it is calm."""
    sheet = Sheet(200, "#b8b8b8").box(20, 20, 180, 60, "#321b41")
    for left in range(20, 110, 25):
        sheet.line([(left, 80), (left + 30, 180)], 8.0, "#b4acbc")
    Image.fromarray(sheet.rgba()).convert("RGB").save(tmp_path / "soft.png")
    found = separated(read(tmp_path / "soft.png", ArtworkSettings()))
    assert_colors(found, ["#b4acbc", "#321b41"])


@pytest.mark.parametrize(("one", "other"), [((189, 196, 204), (187, 198, 200)), ((18, 32, 38), (21, 31, 41))])
def test_one_color_that_compression_rounded_two_ways_stays_one(
    one: tuple[int, int, int], other: tuple[int, int, int]
) -> None:
    """Two halves of an even area in neighboring steps of JPEG's chroma: an eye could just tell them apart."""
    artwork = Sheet(400).box(60, 60, 340, 340, "#c81e28").artwork()
    rgb = artwork.rgb.copy()
    rgb[100:300, 100:220] = one
    rgb[100:300, 220:300] = other
    found = separated(replace(artwork, rgb=rgb, lossy=True))
    middle = (np.array(one) * 0.6 + np.array(other) * 0.4).round().astype(int)
    assert_colors(found, ["#c81e28", "#{:02x}{:02x}{:02x}".format(*middle)], tolerance=1.0)
    clean = separated(replace(artwork, rgb=rgb))
    assert len(clean.colors) == 3
