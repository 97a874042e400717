"""Colors that exist only in lines: what edges show of three colors is none of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from exactart import painted_over
from reliefsmith.artwork import read
from reliefsmith.recipe.sections import ArtworkSettings
from tiers import broad

from .pictures import Sheet, assert_colors, label_of, separated

WHITE, RED = (255, 255, 255), (206, 17, 38)


@pytest.mark.parametrize("part", broad([0.25, 0.4, 0.5, 0.6, 0.75], lambda part: part in (0.4, 0.75)))
def test_paint_over_paint_along_a_straight_rim_is_no_color_of_its_own(part: float) -> None:
    """A rim that both paints cover in part shows the lower one through the upper one."""
    sheet = shapely.box(30, 40 - part, 370, 360 + part)
    right = shapely.box(90, 40 - part, 370, 360 + part)
    artwork = painted_over([(sheet, WHITE), (right, RED)], 400, alpha=True)
    assert_colors(separated(artwork), ["#ffffff", "#ce1126"])


EYE, FACE, HAIR = "#444444", "#f8c022", "#6e4d3f"


def face(size: int, radius: float) -> Sheet:
    """A face with one small eye, darker hair, and a shirt between whose color and the hair's the eye lies."""
    sheet = Sheet(size).disc(size / 2, size / 2, size * 0.4, FACE)
    sheet.box(size * 0.2, size * 0.1, size * 0.8, size * 0.3, HAIR)
    sheet.box(size * 0.2, size * 0.8, size * 0.8, size * 0.95, "#4568ad")
    return sheet.disc(size * 0.4 + 0.3, size * 0.5 + 0.6, radius, EYE)


@pytest.mark.parametrize("quality", [60, 75])
def test_an_eye_that_compression_leaves_no_calm_pixels_keeps_its_color(quality: int) -> None:
    """0.1 % of the art, 18 px across: blocks of 8 px ripple all over it."""
    result = separated(face(600, 9.0).artwork(quality))
    assert_colors(result, [FACE, HAIR, "#4568ad", EYE], tolerance=5.0)
    eye = (result.labels == label_of(result, EYE)).sum()
    assert eye == pytest.approx(np.pi * 81, rel=0.15)


def test_an_eye_of_few_pixels_in_a_tiny_picture_keeps_its_color(tmp_path: Path) -> None:
    Image.fromarray(face(200, 2.4).rgba()).convert("RGB").save(tmp_path / "tiny.png")
    artwork = read(tmp_path / "tiny.png", ArtworkSettings())
    assert artwork.scale > 1
    assert_colors(separated(artwork), [FACE, HAIR, "#4568ad", EYE], tolerance=2.0)
