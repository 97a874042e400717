"""Colors of areas: where nothing round them explains them, and only there, however small."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from reliefsmith.artwork import read
from reliefsmith.color.capture import Capture
from reliefsmith.color.modes import Clusters
from reliefsmith.color.palette import Choice, choose_colors
from reliefsmith.model.artwork import Artwork
from reliefsmith.recipe.sections import ArtworkSettings
from tiers import broad

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


@pytest.mark.parametrize("quality", broad([60, 75, 90], lambda quality: quality == 60))
def test_a_small_eye_in_a_compressed_picture_is_found(quality: int) -> None:
    found = separated(player(900, 12.0).artwork(quality))
    assert_colors(found, [FACE, SHORTS, BALL, EYE], tolerance=4.0)
    eye = (found.labels == label_of(found, EYE)).sum()
    assert eye == pytest.approx(np.pi * 144, rel=0.1)


@pytest.mark.parametrize("seed", broad(range(3), lambda seed: seed == 0))
def test_a_small_eye_under_noise_is_found(seed: int) -> None:
    clean = player(900, 11.0).artwork()
    noise = np.random.default_rng(seed).normal(0, 1.0, clean.rgb.shape)
    noisy = np.clip(clean.rgb + noise + 0.5, 0, 255).astype(np.uint8)
    found = separated(Artwork(noisy, clean.alpha, (900, 900), 1.0, False, True))
    assert_colors(found, [FACE, SHORTS, BALL, EYE], tolerance=2.0)


@pytest.mark.parametrize("radius", broad([3.0, 4.0, 6.0], lambda radius: radius == 4.0))
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


RED_HEX = "#c81e28"
WHITE, RED, MIDDLE, GREEN = (255.0, 255, 255), (200.0, 30, 40), (228.0, 142, 148), (40.0, 140, 60)


def choice(
    picture: np.ndarray, colors: tuple, *, lossy: bool = False, count: int = 0, scale: float = 1.0
) -> Choice:
    """Choose among colors by a picture of their numbers, all calm, the first of them the background."""
    weights = np.bincount(picture.ravel(), minlength=len(colors)).astype(np.float64)
    clusters = Clusters(np.array(colors), weights, np.arange(len(colors)))
    capture = Capture(0.0, lossy, lossy, scale)
    return choose_colors(
        clusters,
        picture.astype(np.uint8),
        np.array(colors[0]),
        weights[1:].sum(),
        capture,
        beside=np.zeros(len(colors), dtype=bool),
        count=count,
    )


@pytest.mark.parametrize("lossy", [False, True])
def test_a_mix_is_a_color_only_where_it_lies_apart_from_what_it_mixes(lossy: bool) -> None:
    picture = np.zeros((120, 120), np.uint8)
    picture[:, 60:] = 1
    picture[:, 58:62] = 2
    assert choice(picture, (WHITE, RED, MIDDLE), lossy=lossy).of_cluster.tolist() == [-1, 0, -2]
    picture[:, 58:62] = 1
    picture[50:70, 15:35] = 2
    assert choice(picture, (WHITE, RED, MIDDLE), lossy=lossy).of_cluster.tolist() == [-1, 0, 1]


@pytest.mark.parametrize(("lossy", "least"), [(False, 2), (True, 15)])
@pytest.mark.parametrize("times", [1, 3])
def test_a_color_needs_so_many_pixels_of_the_source_that_nothing_explains(
    lossy: bool, least: int, times: int
) -> None:
    """In a row, each pixel gains 34 squares of noise and pays for two sides; a color's price is 54 or 432."""
    for pixels in (least - 1, least):
        picture = np.zeros((60, 60), np.uint8)
        picture[10:30, 10:30] = 1
        picture[50, 40 : 40 + pixels] = 2
        picture = picture.repeat(times, axis=0).repeat(times, axis=1)
        found = choice(picture, (WHITE, RED, GREEN), lossy=lossy, scale=float(times))
        assert found.of_cluster[2] == (1 if pixels == least else -2)


def test_a_count_takes_what_gains_most_and_gives_the_rest_to_the_nearest() -> None:
    picture = np.zeros((120, 120), np.uint8)
    picture[10:50, 10:50], picture[60:110, 60:110], picture[10:30, 70:90] = 1, 2, 3
    colors = (WHITE, RED, GREEN, (205.0, 80, 60))
    assert choice(picture, colors).of_cluster.tolist() == [-1, 1, 0, 2]
    assert choice(picture, colors, count=2).of_cluster.tolist() == [-1, 1, 0, 1]
    assert choice(picture, colors, count=1).of_cluster.tolist() == [-1, 0, 0, 0]


def test_faint_tints_of_a_color_of_a_lossy_picture_are_none() -> None:
    picture = np.zeros((200, 200), np.uint8)
    picture[10:60, 10:60], picture[100:110, 100:110] = 1, 2
    faint = (240.0, 232, 226)
    assert choice(picture, (WHITE, RED, faint)).of_cluster.tolist() == [-1, 0, 1]
    assert choice(picture, (WHITE, RED, faint), lossy=True).of_cluster.tolist() == [-1, 0, -2]


def test_a_tint_that_bled_farther_than_luma_is_none_but_a_color_of_its_own_luma_is() -> None:
    """A strip 6 to 10 px from a green field: with some of its chroma in white, or darker as well."""
    white, green, tint, pale = (255.0, 255, 255), (0.0, 155, 1), (243.0, 255, 244), (225.0, 244, 226)
    picture = np.zeros((120, 120), np.uint8)
    picture[:, 70:] = 1
    picture[:, 60:64] = 2
    assert choice(picture, (white, green, tint), lossy=True).of_cluster.tolist() == [-1, 0, -2]
    assert choice(picture, (white, green, pale), lossy=True).of_cluster.tolist() == [-1, 0, 1]


def test_a_corner_in_less_light_is_no_color_of_a_photograph() -> None:
    """Noise of one level; grey of the paper in a corner fades into it, a darker one in a box does not."""
    random = np.random.default_rng(5)
    rows, columns = np.mgrid[0:600, 0:600]
    far = np.hypot(rows - 600, columns - 600)
    grey = 1.0 - 0.11 * np.clip((150 - far) / 90, 0.0, 1.0)
    sheet = Sheet(600).box(100, 100, 300, 420, RED_HEX).box(340, 100, 420, 300, "#b4b4b4")
    rgb = sheet.rgba()[..., :3] * grey[..., None]
    noisy = np.clip(rgb + random.normal(0, 1.0, rgb.shape) + 0.5, 0, 255).astype(np.uint8)
    opaque = np.ones((600, 600), np.float32)
    found = separated(Artwork(noisy, opaque, (600, 600), 1.0, False, True))
    assert_colors(found, [RED_HEX, "#b4b4b4"], tolerance=3.0)
    assert (found.labels[450:, 450:] == 0).all()
