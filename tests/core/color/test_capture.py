"""Calm pixels and noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy import ndimage

from reliefsmith.color.capture import Capture, calm_pixels, captured, is_rippled, softening
from reliefsmith.color.mixing import mixing_planes
from reliefsmith.colorimetry import noise_sigma
from reliefsmith.colorimetry.window import local_range
from reliefsmith.model import Artwork

from .pictures import Sheet

CLEAN = Capture(0.0, lossy=False, saved_lossy=False, scale=1.0)


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1))
def test_local_range_is_the_range_of_the_window(seed: int) -> None:
    rng = np.random.default_rng(seed)
    planes = tuple(rng.integers(0, 256, (9, 11), dtype=np.uint8) for _ in range(3))
    ranges = [
        ndimage.maximum_filter(plane, 3, mode="nearest") - ndimage.minimum_filter(plane, 3, mode="nearest")
        for plane in planes
    ]
    np.testing.assert_array_equal(local_range(planes), np.max(ranges, axis=0))


def test_edge_pixels_are_never_calm() -> None:
    mixing = mixing_planes(Sheet(100, None).disc(50.3, 49.8, 30, "#c81e28").artwork())
    calm = calm_pixels(mixing, local_range(mixing.planes), CLEAN)
    partly = (mixing.planes[3] > 0) & (mixing.planes[3] < 255)
    assert partly.any()
    assert not calm[partly].any()
    assert calm[50, 50]
    assert not calm[2, 2]  # clear pixels have no color to vote for


@pytest.mark.parametrize("sigma", [1.0, 2.0, 5.0])
def test_noise_is_measured_beside_edges_and_slopes(sigma: float) -> None:
    rng = np.random.default_rng(1)
    y, x = np.mgrid[0:500, 0:500]
    plane = 90 + 60 * (x > 250) + 0.05 * y
    noisy = np.clip(plane + rng.normal(0, sigma, plane.shape) + 0.5, 0, 255).astype(np.uint8)
    # Rounding to whole levels adds a variance of 1/12; the median of whole numbers steps by 1/4.
    assert noise_sigma(noisy) == pytest.approx(np.hypot(sigma, 12**-0.5), abs=0.2)


def test_clean_drawings_have_no_noise() -> None:
    artwork = Sheet(120).disc(60, 60, 40, "#c81e28").artwork()
    mixing = mixing_planes(artwork)
    assert captured(artwork, mixing, local_range(mixing.planes)) == CLEAN


@pytest.mark.parametrize(("quality", "rippled"), [(0, False), (95, True), (85, True), (60, True)])
def test_lossy_compression_leaves_ripples(quality: int, rippled: bool) -> None:
    sheet = Sheet(400).disc(150, 150, 100, "#c81e28").box(200, 200, 380, 380, "#14213d")
    assert is_rippled(local_range(mixing_planes(sheet.artwork(quality)).planes)) is rippled


@pytest.mark.parametrize("times", [1, 3, 4])
def test_softening_is_by_how_much_a_picture_was_enlarged(times: int) -> None:
    small = Image.fromarray(
        Sheet(160).disc(60, 60, 40, "#c81e28").disc(110, 100, 30, "#1c3f8c").artwork().rgb
    )
    large = small.resize((160 * times, 160 * times), Image.Resampling.BICUBIC)
    shape = (160 * times, 160 * times)
    art = Artwork(np.asarray(large), np.ones(shape, np.float32), shape, 1.0, False, False)
    assert softening(mixing_planes(art)) == pytest.approx(times, rel=0.25)
