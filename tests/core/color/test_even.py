"""Evening: shadows and shading go, and what is left is the flat picture, at its edges too."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from hypothesis import strategies as st
from PIL import Image
from scipy import ndimage

from reliefsmith.colorimetry import parse_hex
from reliefsmith.model.artwork import Artwork
from tiers import examples

from .pictures import Sheet, assert_colors, label_of, separated

RED, BLUE, YELLOW, INK, GREY = "#c81e28", "#1e5fd0", "#f7c923", "#14213d", "#a0a0a0"


def with_shadow(
    sheet: Sheet, *, depth: float, blur: float, offset: tuple[float, float], ground: str = "#ffffff"
) -> Artwork:
    """Lay a transparent sheet on paper with its drop shadow."""
    pixels = sheet.rgba().astype(np.float64)
    alpha = pixels[..., 3] / 255.0
    shadow = depth * ndimage.gaussian_filter(ndimage.shift(alpha, offset, order=1), blur)
    paper = np.array(parse_hex(ground)) * (1 - shadow[..., None])
    color = pixels[..., :3] * alpha[..., None] + paper * (1 - alpha[..., None])
    shape = alpha.shape
    return Artwork(
        np.rint(color).astype(np.uint8), np.ones(shape, np.float32), shape[::-1], 1.0, False, False
    )


def shaded(sheet: Sheet, inks: list[str], slope: float, angle: float) -> Artwork:
    """Add a linear gradient, in levels a pixel and of mean 0 at the middle, to what is drawn in some inks."""
    artwork = sheet.artwork()
    y, x = np.mgrid[0 : sheet.size, 0 : sheet.size] + 0.5
    ramp = slope * ((x - sheet.size / 2) * np.cos(angle) + (y - sheet.size / 2) * np.sin(angle))
    rgb = artwork.rgb.astype(np.float64)
    white = np.array([255.0, 255.0, 255.0])
    for ink in inks:
        color = np.array(parse_hex(ink), dtype=np.float64)
        # The share of the ink in each pixel, along the line from white to it, for inks that lie on paper.
        axis = color - white
        share = ((rgb - white) * axis).sum(axis=2) / (axis * axis).sum()
        off = np.abs(rgb - white - share[..., None] * axis).max(axis=2)
        share = np.where(off < 2, np.clip(share, 0, 1), 0)
        rgb += (share * ramp)[..., None]
    return replace(artwork, rgb=np.clip(np.rint(rgb), 0, 255).astype(np.uint8))


def far_pixels(evened: np.ndarray, flat: np.ndarray, levels: float) -> float:
    return float((np.abs(evened.astype(int) - flat).max(axis=2) > levels).mean())


@examples(
    4,
    12,
    depth=st.floats(0.3, 0.45),
    blur=st.floats(3.0, 9.0),
    right=st.floats(6.0, 14.0),
    down=st.floats(-14.0, 14.0),
    ground=st.sampled_from(["#ffffff", "#b8b8b8", "#e8dcc0"]),
)
def test_without_its_shadow_a_picture_is_the_flat_one(
    depth: float, blur: float, right: float, down: float, ground: str
) -> None:
    sheet = Sheet(400, None).disc(190, 190, 110, RED).box(150, 230, 330, 330, INK).disc(190, 160, 40, YELLOW)
    artwork = with_shadow(sheet, depth=depth, blur=blur, offset=(down, right), ground=ground)
    flat = with_shadow(sheet, depth=0.0, blur=1.0, offset=(0, 0), ground=ground)
    result = separated(artwork)
    assert_colors(result, [RED, INK, YELLOW], tolerance=1.0)
    assert result.evened is not None
    assert far_pixels(result.evened, flat.rgb, 8) < 0.0015
    assert (result.labels != separated(flat).labels).mean() < 0.0005


def test_a_place_in_shadow_that_the_art_closes_in_is_background() -> None:
    sheet = Sheet(400, None)
    for y in (100, 240):
        sheet.box(60, y, 340, y + 60, RED)
    for x in (60, 280):
        sheet.box(x, 100, x + 60, 300, RED)
    artwork = with_shadow(sheet, depth=0.4, blur=7.0, offset=(12, 12))
    result = separated(artwork)
    assert_colors(result, [RED], tolerance=1.0)
    assert (result.labels[165:235, 125:275] == result.enclosed + 1).all()


def test_a_grey_of_the_art_stays_beside_a_shadow_as_dark() -> None:
    """The shadow is 160 in its depth, the grey too: their edge cannot be seen, the grey's other edges can."""
    sheet = Sheet(500, None).disc(200, 200, 110, RED).box(280, 120, 420, 380, GREY)
    result = separated(with_shadow(sheet, depth=95 / 255, blur=6.0, offset=(10, 10)))
    assert_colors(result, [RED, GREY], tolerance=1.5)
    assert (result.labels[130:370, 300:410] == label_of(result, GREY)).mean() > 0.99


def test_a_light_grey_beside_no_shadow_stays_in_jpeg() -> None:
    sheet = Sheet(500).disc(200, 200, 110, "#d3d3d3").disc(260, 300, 90, "#b0b0b0").disc(200, 200, 30, INK)
    for quality in (0, 60):
        assert_colors(separated(sheet.artwork(quality)), ["#d3d3d3", "#b0b0b0", INK], tolerance=2.0)


def test_soft_art_alone_is_no_shadow() -> None:
    y, x = np.mgrid[0:400, 0:400] + 0.5
    shade = 1 - 0.5 / (1 + np.exp(np.clip((np.hypot(x - 200, y - 200) - 110) / 5, -60, 60)))
    rgb = np.repeat((255 * shade + 0.5).astype(np.uint8)[..., None], 3, axis=2)
    result = separated(Artwork(rgb, np.ones((400, 400), np.float32), (400, 400), 1.0, False, False))
    assert (result.labels[130:270, 130:270] > 0).all()
    assert (result.labels[:60] == 0).all()


@examples(3, 10, slope=st.floats(0.05, 0.18), angle=st.floats(0.0, 6.28))
def test_a_shaded_area_has_one_color_and_its_own_edges(slope: float, angle: float) -> None:
    sheet = Sheet(400).disc(190, 200, 120, BLUE).box(300, 100, 360, 300, RED)
    result = separated(shaded(sheet, [BLUE, RED], slope, angle))
    flat = separated(sheet.artwork())
    assert len(result.colors) == 2
    table = np.array([0, label_of(result, BLUE), label_of(result, RED)])[
        [0, *(1 + np.argsort([label_of(flat, BLUE), label_of(flat, RED)]))]
    ]
    assert (table[flat.labels] != result.labels).mean() < 0.0005


def test_two_shaded_areas_of_one_color_stay_one_color() -> None:
    sheet = Sheet(500).disc(130, 130, 90, BLUE).disc(360, 360, 90, BLUE)
    artwork = shaded(sheet, [BLUE], 0.12, 0.75 * np.pi)
    lighter = artwork.rgb.astype(int)
    lighter[250:] = np.where(lighter[250:] < 250, np.minimum(lighter[250:] + 8, 255), lighter[250:])
    result = separated(replace(artwork, rgb=lighter.astype(np.uint8)))
    assert len(result.colors) == 1


@pytest.mark.parametrize("quality", [0, 60, 85])
def test_flat_art_is_not_evened(quality: int) -> None:
    sheet = (
        Sheet(400).disc(150, 150, 100, RED).disc(260, 260, 90, "#d2b48c").box(40, 300, 200, 380, "#c8a67a")
    )
    assert separated(sheet.artwork(quality)).evened is None


def test_a_cut_out_picture_is_evened_in_straight_color() -> None:
    sheet = Sheet(400, None).disc(200, 200, 150, BLUE)
    artwork = sheet.artwork()
    ramp = 0.1 * (np.arange(400) - 200)[None, :, None]
    rgb = np.clip(np.rint(artwork.rgb + ramp), 0, 255).astype(np.uint8)
    result = separated(replace(artwork, rgb=rgb))
    assert_colors(result, [BLUE], tolerance=1.5)
    assert result.evened is not None
    solid = artwork.alpha > 0.5
    assert np.abs(result.evened[solid].astype(int) - result.colors[0]).max() <= 4


@pytest.mark.parametrize("lossy", [False, True])
def test_two_flat_colors_nearer_than_calm_pixels_may_differ_are_no_shading(lossy: bool) -> None:
    near = "#8c7f84"
    sheet = Sheet(400).box(60, 60, 340, 340, "#848484").box(200, 60, 340, 340, near)
    artwork = sheet.artwork()
    if lossy:
        data = BytesIO()
        Image.fromarray(artwork.rgb).save(data, "JPEG", quality=60)
        artwork = replace(artwork, rgb=np.asarray(Image.open(data)), lossy=True)
    assert_colors(separated(artwork), ["#848484", near], tolerance=1.5)


def test_a_grey_net_stays_in_a_picture_that_was_enlarged() -> None:
    """The edges of its cords are as soft as a shadow's then, within a hoop that closes them in."""
    sheet = Sheet(300).disc(150, 150, 120, BLUE).disc(150, 150, 100, "#ffffff")
    for at in range(80, 230, 26):
        sheet.line([(at, 65), (at + 14, 235)], 5, "#d3d3d3").line([(65, at), (235, at + 14)], 5, "#d3d3d3")
    small = Image.fromarray(sheet.artwork().rgb)
    for how in (Image.Resampling.BICUBIC, Image.Resampling.BILINEAR):
        large = np.asarray(small.resize((900, 900), how))
        art = Artwork(large, np.ones((900, 900), np.float32), (900, 900), 1.0, False, False)
        separation = separated(art)
        assert_colors(separation, [BLUE, "#d3d3d3"])
        net = (large == 211).all(axis=2)
        assert (separation.labels[net] == label_of(separation, "#d3d3d3")).mean() > 0.98
