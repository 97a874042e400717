"""Separation: the right colors, every pixel on its side, whatever the file went through."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy import ndimage

from reliefsmith.artwork.read import read
from reliefsmith.color import separate_steps
from reliefsmith.colorimetry import parse_hex
from reliefsmith.errors import ArtworkError
from reliefsmith.model.artwork import Artwork
from reliefsmith.progress import Progress
from reliefsmith.recipe.sections import ArtworkSettings, BackgroundSettings, ColorSettings
from tiers import broad

from .pictures import (
    BLUE,
    INK,
    RED,
    WHITE,
    YELLOW,
    Sheet,
    assert_colors,
    is_ground,
    kite,
    label_of,
    separated,
)


@pytest.mark.parametrize("ground", [None, "#ffffff", "#e8e8e8", "#203040"])
def test_clean_drawings_give_exact_colors(ground: str | None) -> None:
    result = separated(kite(ground).artwork())
    assert_colors(result, [RED, BLUE, YELLOW, INK])
    if ground is not None:
        assert result.colors[result.enclosed].tolist() == list(parse_hex(ground))
        assert result.labels[270, 270] == result.enclosed + 1
    assert result.findings == ()


def test_label_zero_is_exactly_the_uncovered_side() -> None:
    """An edge pixel belongs to the color that covers more than half of it."""
    sheet = Sheet(200, None).disc(100, 100, 70, RED)
    coverage = sheet.rgba()[..., 3].astype(int)
    labels = separated(sheet.artwork()).labels
    assert ((labels == 1) == (coverage > 127)).all()
    on_white = Sheet(200).disc(100, 100, 70, RED)
    sure = np.abs(coverage - 127.5) > 1  # white and red in bytes round a half cover either way
    assert (separated(on_white.artwork()).labels == labels)[sure].all()


def test_a_mixture_that_resembles_a_third_color_stays_with_its_two() -> None:
    """Black meets white beside a grey patch: the edge between them is not grey."""
    sheet = Sheet(300).disc(110, 150, 80, "#000000").box(200, 60, 260, 240, "#7f7f7f")
    result = separated(sheet.artwork())
    assert_colors(result, ["#000000", "#7f7f7f"])
    grey = label_of(result, "#7f7f7f")
    assert not (result.labels[:, :195] == grey).any()


@pytest.mark.parametrize("size", [200, 500])
def test_an_enlarged_edge_stays_with_its_two_colors(size: int, tmp_path: Path) -> None:
    """A screen in a dark case with a button of the tone between: enlarging spreads their edge over pixels."""
    s = size / 200
    sheet = Sheet(size, "#b8b8b8").box(50 * s, 20 * s, 150 * s, 190 * s, "#464a4c")
    sheet.box(60 * s, 30.4, 140.3 * s, 160.6 * s, "#cad6d8").box(90 * s, 170 * s, 110 * s, 180 * s, "#8f9799")
    Image.fromarray(sheet.rgba()).convert("RGB").save(tmp_path / "case.png")
    artwork = read(tmp_path / "case.png", ArtworkSettings())
    assert artwork.scale > 1
    result = separated(artwork)
    assert_colors(result, ["#464a4c", "#cad6d8", "#8f9799"])
    button = label_of(result, "#8f9799")
    assert not (result.labels[: int(165 * s * artwork.scale)] == button).any()


@pytest.mark.parametrize(
    ("quality", "rounds", "saved_again"),
    broad(
        [(*how, again) for how in ((90, 1), (60, 1), (75, 2), (40, 1)) for again in (False, True)],
        lambda case: case in {(90, 1, False), (75, 2, False), (40, 1, False), (40, 1, True)},
    ),
)
def test_jpeg_noise_makes_no_color_and_no_speck(quality: int, rounds: int, saved_again: bool) -> None:
    artwork = replace(kite(size=500).artwork(quality, rounds), lossy=not saved_again)
    result = separated(artwork)
    assert_colors(result, [RED, BLUE, YELLOW, INK], tolerance=2.0)
    clean = separated(kite(size=500).artwork())
    inks = (WHITE, RED, BLUE, YELLOW, INK)
    same = [label_of(clean, ink) for ink in inks]
    table = np.zeros(6, np.uint8)
    for ink, label in zip(inks, same, strict=True):
        table[label] = label_of(result, ink)
    wrong = table[clean.labels] != result.labels
    assert wrong.mean() < 0.002
    # A column may be lost to the neighboring 8 x 8 block, never an area.
    assert not ndimage.binary_erosion(wrong, np.ones((3, 3))).any()


def test_noise_as_of_a_scan_makes_no_color() -> None:
    clean = kite(size=500).artwork()
    rng = np.random.default_rng(4)
    noisy = np.clip(clean.rgb + rng.normal(0, 3.0, clean.rgb.shape) + 0.5, 0, 255).astype(np.uint8)
    result = separated(Artwork(noisy, clean.alpha, (500, 500), 1.0, False, False))
    assert_colors(result, [RED, BLUE, YELLOW, INK], tolerance=2.0)
    assert is_ground(separated(clean)).mean() == pytest.approx(is_ground(result).mean(), abs=0.002)


def test_small_distinct_colors_survive_and_dark_shades_merge() -> None:
    sheet = Sheet(500, None).disc(250, 250, 220, "#101418").disc(200, 200, 60, "#14181c")
    sheet.disc(300, 300, 11, YELLOW)  # 0.25 % of the art
    assert_colors(separated(sheet.artwork()), ["#101418", YELLOW])


def test_near_kin_that_an_eye_can_tell_stay_apart() -> None:
    sheet = Sheet(400).box(50, 50, 200, 350, "#d2b48c").box(200, 50, 350, 350, "#c8a67a")
    assert_colors(separated(sheet.artwork()), ["#d2b48c", "#c8a67a"])


@pytest.mark.parametrize("ground", [None, "#ffffff"])
@pytest.mark.parametrize("width", [2.0, 1.5])
def test_colors_that_exist_only_in_thin_lines_are_found(ground: str | None, width: float) -> None:
    sheet = Sheet(400, ground).disc(120, 200, 90, RED)
    for k in range(8):
        sheet.line([(240, 60 + 36 * k), (390, 40 + 40 * k)], width, BLUE)
    result = separated(sheet.artwork())
    assert_colors(result, [RED, BLUE], tolerance=2.0)


def test_a_drawing_of_thin_lines_alone_is_not_blank() -> None:
    sheet = Sheet(400)
    for k in range(8):
        sheet.line([(20, 30 + 45 * k), (380, 50 + 40 * k)], 2.0, "#000000")
    assert_colors(separated(sheet.artwork()), ["#000000"], tolerance=1.0)


def test_a_soft_shadow_is_background() -> None:
    clean = Sheet(400).disc(190, 190, 110, RED).artwork()
    y, x = np.mgrid[0:400, 0:400] + 0.5
    distance = np.hypot(x - 215, y - 225) - 110
    shade = 1 - 0.45 / (1 + np.exp(np.clip(distance / 8, -60, 60)))
    inside = np.hypot(x - 190, y - 190) < 111
    rgb = np.where(inside[..., None], clean.rgb, clean.rgb * shade[..., None] + 0.5).astype(np.uint8)
    result = separated(Artwork(rgb, clean.alpha, (400, 400), 1.0, False, False))
    assert_colors(result, [RED], tolerance=1.0)
    assert (result.labels == 1).sum() == pytest.approx(np.pi * 110**2, rel=0.02)


def test_a_gradient_becomes_few_flat_bands() -> None:
    sheet = Sheet(400).box(50, 50, 350, 300, RED).box(50, 310, 350, 370, BLUE)
    artwork = sheet.artwork()
    rgb = artwork.rgb.copy()
    ramp = np.linspace(0, 1, 300)[None, :, None]
    rgb[50:300, 50:350] = np.array([255, 112, 96]) * (1 - ramp) + np.array([160, 10, 10]) * ramp
    result = separated(Artwork(rgb, artwork.alpha, (400, 400), 1.0, False, False))
    assert 2 <= len(result.colors) <= 4
    columns = result.labels[60:290, 55:345]
    assert (columns == columns[:1]).all()  # bands follow the gradient
    assert (np.diff(columns[0].astype(int)) != 0).sum() == len(result.colors) - 2


def test_a_given_count_merges_what_changes_least() -> None:
    sheet = kite(None)
    assert_colors(separated(sheet.artwork(), count=4), [RED, BLUE, YELLOW, INK])
    three = separated(sheet.artwork(), count=3)
    assert_colors(three, [RED, BLUE, YELLOW])  # the ink joins the blue
    assert len(separated(sheet.artwork(), count=1).colors) == 1


def test_fewer_colors_than_asked_for_is_a_finding() -> None:
    result = separated(kite(None).artwork(), count=7)
    assert_colors(result, [RED, BLUE, YELLOW, INK])
    assert [one.code for one in result.findings] == ["colors-fewer"]
    assert "4 flat colors were found where 7" in result.findings[0].message


def test_a_given_count_can_split_close_kin() -> None:
    sheet = Sheet(400).box(50, 50, 200, 350, "#d2b48c").box(200, 50, 350, 350, "#cbab7f")
    assert len(separated(sheet.artwork()).colors) == 1
    assert_colors(separated(sheet.artwork(), count=2), ["#d2b48c", "#cbab7f"])


def test_more_than_eight_colors_become_eight() -> None:
    inks = [
        "#d8392b",
        BLUE,
        "#23743a",
        "#f9d64a",
        "#642a92",
        "#0d7f8c",
        "#ee7d12",
        "#5a4034",
        "#000000",
        "#e6477c",
    ]
    sheet = Sheet(400)
    for k, ink in enumerate(inks):
        sheet.box(20 + 75 * (k % 5), 40 + 160 * (k // 5), 90 + 75 * (k % 5), 190 + 160 * (k // 5), ink)
    assert len(separated(sheet.artwork()).colors) == 8


def test_a_given_palette_is_used_as_given() -> None:
    result = separated(kite(None).artwork(), palette=("#d02020", "#0040ff", "#ffee00", "#000000"))
    assert_colors(result, ["#d02020", "#0040ff", "#ffee00", "#000000"])
    own = separated(kite(None).artwork())
    np.testing.assert_array_equal(own.labels > 0, result.labels > 0)
    two = separated(kite().artwork(), palette=("#d02020", "#0040ff"))
    assert_colors(two, ["#d02020", "#0040ff"])


def test_merge_and_omit() -> None:
    artwork = kite(None).artwork()
    merged = separated(artwork, merge=((INK, BLUE),))
    assert_colors(merged, [RED, BLUE, YELLOW])
    renamed = separated(artwork, merge=((RED, "#00aa44"),))
    assert_colors(renamed, ["#00aa44", BLUE, YELLOW, INK])
    without = separated(artwork, omit=(YELLOW,))
    assert_colors(without, [RED, BLUE, INK])
    assert without.labels[330, 100] == 0
    with pytest.raises(ArtworkError, match="nothing is left"):
        separated(artwork, omit=(RED, BLUE, YELLOW, INK))


def test_a_color_that_is_not_there_is_a_finding() -> None:
    result = separated(kite(None).artwork(), omit=("#00ff00",), merge=(("#ff00ff", RED),))
    assert [one.code for one in result.findings] == ["color-unmatched"] * 2
    assert_colors(result, [RED, BLUE, YELLOW, INK])


@pytest.mark.parametrize("quality", [0, 80])
def test_a_blank_page_is_refused(quality: int) -> None:
    with pytest.raises(ArtworkError, match="nothing is left after the background") as caught:
        separated(Sheet(200).artwork(quality))
    assert "\n" not in str(caught.value)


def test_steps_are_small_and_can_be_closed() -> None:
    steps = separate_steps(kite().artwork(), background=BackgroundSettings(), flat_colors=ColorSettings())
    assert isinstance(next(steps), Progress)
    steps.close()


def test_the_same_picture_gives_the_same_bytes() -> None:
    artwork = kite(size=300).artwork(70)
    one, other = separated(artwork), separated(artwork)
    assert one.labels.tobytes() == other.labels.tobytes()
    assert one.colors.tobytes() == other.colors.tobytes()


@settings(max_examples=8)
@given(st.integers(0, 2**32 - 1))
def test_mirrored_pictures_give_mirrored_labels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sheet = Sheet(160, None)
    for ink in (RED, BLUE, YELLOW):
        sheet.disc(*rng.uniform(40, 120, 2), rng.uniform(12, 35), ink)
    artwork = sheet.artwork()
    mirrored = Artwork(
        artwork.rgb[:, ::-1].copy(), artwork.alpha[:, ::-1].copy(), artwork.source_px, 1.0, True, False
    )
    one, other = separated(artwork), separated(mirrored)
    np.testing.assert_array_equal(one.colors, other.colors)
    assert (one.labels != other.labels[:, ::-1]).mean() < 0.001  # ties of neighbors may fall either way


@settings(max_examples=8)
@given(st.integers(0, 2**32 - 1), st.integers(1, 3), st.integers(1, 3))
def test_moving_the_art_by_whole_pixels_moves_its_labels(seed: int, right: int, down: int) -> None:
    rng = np.random.default_rng(seed)
    sheet = Sheet(160)
    for ink in (RED, BLUE, YELLOW):
        sheet.disc(*rng.uniform(40, 120, 2), rng.uniform(12, 30), ink)
    artwork = sheet.artwork()
    moved = Artwork(
        np.roll(artwork.rgb, (down, right), axis=(0, 1)), artwork.alpha, artwork.source_px, 1.0, False, False
    )
    labels = separated(artwork).labels
    np.testing.assert_array_equal(np.roll(labels, (down, right), axis=(0, 1)), separated(moved).labels)


def test_the_colors_that_the_picture_shows_are_kept_beside_those_that_the_user_names() -> None:
    red, blue = "#c81e1e", "#1e78c8"
    sheet = Sheet(200).box(20, 20, 100, 180, red).box(120, 20, 180, 120, blue)
    found = separated(sheet.artwork(), merge=((red, "#b01010"),))
    assert tuple(found.colors[0]) == (0xB0, 0x10, 0x10)
    np.testing.assert_array_equal(found.shown, [(255, 255, 255), (200, 30, 30), (30, 120, 200)])
    joined = separated(sheet.artwork(), merge=((red, blue),))
    assert tuple(joined.colors[0]) == (30, 120, 200)
    np.testing.assert_array_equal(joined.shown, [(255, 255, 255), (200, 30, 30)])  # most of its pixels


@pytest.mark.parametrize(
    ("lossy", "ground", "scale", "looked"),
    [
        (True, "#ffffff", 1.0, True),
        (False, "#ffffff", 1.0, False),
        (True, None, 1.0, False),
        (True, "#ffffff", 2.0, False),
    ],
)
def test_lines_are_looked_along_where_compression_left_them_no_calm_pixel(
    lossy: bool, ground: str | None, scale: float, looked: bool
) -> None:
    """In opaque pictures that were not enlarged."""
    artwork = replace(kite(ground, 120).artwork(), lossy=lossy, scale=scale)
    steps = separate_steps(artwork, background=BackgroundSettings(), flat_colors=ColorSettings())
    said = {step.message for step in steps}
    assert ("looking along lines" in said) is looked
