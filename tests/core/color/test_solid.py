"""Small patches: colors where no mixture of what lies round them explains them, and only there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from reliefsmith.artwork import read
from reliefsmith.model.artwork import Artwork
from reliefsmith.recipe.sections import ArtworkSettings

from .pictures import Sheet, assert_colors, label_of, separated

FACE, SHORTS, BALL, EYE = "#e0bb95", "#ef7a08", "#7b919a", "#c17b47"


def player(size: int, radius: float) -> Sheet:
    """A face, shorts and a ball; the eye's color lies between those of shorts and ball, which are far off."""
    s = size / 100
    sheet = Sheet(size).box(10 * s, 10 * s, 70 * s, 60 * s, FACE).box(10 * s, 60 * s, 70 * s, 90 * s, SHORTS)
    sheet.disc(82 * s, 80 * s, 10 * s, BALL)
    return sheet.disc(30.3 * s, 30.6 * s, radius, EYE)


def test_an_eye_of_three_pixels_in_a_tiny_picture_is_found(tmp_path: Path) -> None:
    Image.fromarray(player(200, 1.9).rgba()).convert("RGB").save(tmp_path / "tiny.png")
    found = separated(read(tmp_path / "tiny.png", ArtworkSettings()))
    assert_colors(found, [FACE, SHORTS, BALL, EYE], tolerance=1.0)


@pytest.mark.parametrize("quality", [60, 75, 90])
def test_a_small_eye_in_a_compressed_picture_is_found(quality: int) -> None:
    found = separated(player(900, 12.0).artwork(quality))
    assert_colors(found, [FACE, SHORTS, BALL, EYE], tolerance=4.0)
    eye = (found.labels == label_of(found, EYE)).sum()
    assert eye == pytest.approx(np.pi * 144, rel=0.1)


@pytest.mark.parametrize("seed", range(3))
def test_a_small_eye_under_noise_is_found(seed: int) -> None:
    clean = player(900, 11.0).artwork()
    noise = np.random.default_rng(seed).normal(0, 1.0, clean.rgb.shape)
    noisy = np.clip(clean.rgb + noise + 0.5, 0, 255).astype(np.uint8)
    found = separated(Artwork(noisy, clean.alpha, (900, 900), 1.0, False, True))
    assert_colors(found, [FACE, SHORTS, BALL, EYE], tolerance=2.0)


@pytest.mark.parametrize("radius", [3.0, 4.0, 6.0])
@pytest.mark.parametrize("lossy", [False, True])
def test_the_blurred_middle_of_a_small_dot_is_no_color(radius: float, lossy: bool) -> None:
    """A dot of the paper's white in orange shows a tone between: white mixes with the orange round it."""
    sheet = Sheet(900).box(90, 90, 630, 540, FACE).box(90, 540, 630, 810, SHORTS).disc(740, 720, 90, BALL)
    for row in range(3):
        for column in range(4):
            sheet.disc(150 + 120 * column, 600 + 70 * row, radius, "#ffffff")
    soft = Image.fromarray(sheet.rgba()).convert("RGB").filter(ImageFilter.GaussianBlur(radius / 2))
    opaque = np.ones((900, 900), np.float32)
    found = separated(Artwork(np.asarray(soft), opaque, (900, 900), 1.0, False, lossy))
    assert_colors(found, [FACE, SHORTS, BALL], tolerance=3.0)
