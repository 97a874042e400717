"""Color formulas against published numbers; the source stands beside each check."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reliefsmith.colorimetry import (
    ciede2000,
    contrast_ratio,
    decode_srgb,
    encode_srgb,
    linear_to_oklab,
    parse_hex,
    relative_luminance,
    srgb_to_lab,
    srgb_to_linear,
    srgb_to_oklab,
)

DATA = Path(__file__).parent / "data"


def rgb(text: str) -> np.ndarray:
    return np.array(parse_hex(text), dtype=np.uint8)


# Sharma, Wu, Dalal, Color Research & Application 30(1), 21-30 (2005), Table 1: all 34 pairs.
PAIRS = np.loadtxt(DATA / "ciede2000-sharma.csv", delimiter=",", skiprows=2)


def test_all_34_published_ciede2000_pairs_in_both_orders() -> None:
    assert PAIRS.shape == (34, 7)
    for first, second in ((PAIRS[:, :3], PAIRS[:, 3:6]), (PAIRS[:, 3:6], PAIRS[:, :3])):
        np.testing.assert_allclose(ciede2000(first, second), PAIRS[:, 6], rtol=0, atol=1e-4)


def test_ciede2000_of_white_and_black_is_100() -> None:
    # The open-source library color.js, test/delta.js.
    assert ciede2000([100.0, 0, 0], [0.0, 0, 0]) == pytest.approx(100.0)
    assert ciede2000([50.0, 30, 40], [50.0, 0, 0]) == pytest.approx(24.1218, abs=1e-4)


# B. Ottosson, "A perceptual color space for image processing" (2020), its table of checks, three decimals.
# XYZ goes to linear sRGB by the inverse of the IEC 61966-2-1 matrix.
@pytest.mark.parametrize(
    ("xyz", "oklab"),
    [
        ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
        ((1.0, 0.0, 0.0), (0.450, 1.236, -0.019)),
        ((0.0, 1.0, 0.0), (0.922, -0.671, 0.263)),
        ((0.0, 0.0, 1.0), (0.153, -1.415, -0.449)),
    ],
)
def test_published_oklab_rows(xyz: tuple[float, ...], oklab: tuple[float, ...]) -> None:
    to_xyz = [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750]]
    to_xyz.append([0.0193339, 0.1191920, 0.9503041])
    linear = np.linalg.solve(np.array(to_xyz), np.array(xyz))
    np.testing.assert_allclose(linear_to_oklab(linear), oklab, atol=1.5e-3)


# Computed with the published matrices by an independent script.
@pytest.mark.parametrize(
    ("color", "oklab"),
    [
        ("#ffffff", (1.0, 0.0, 0.0)),
        ("#ff0000", (0.627955, 0.224863, 0.125846)),
        ("#00ff00", (0.866440, -0.233888, 0.179498)),
        ("#0000ff", (0.452014, -0.032457, -0.311528)),
        ("#808080", (0.599871, 0.0, 0.0)),
    ],
)
def test_oklab_of_srgb_colors(color: str, oklab: tuple[float, ...]) -> None:
    np.testing.assert_allclose(srgb_to_oklab(rgb(color)), oklab, atol=2e-6)


# IEC 61966-2-1 transfer curve; the last number is in the tests of the open library colour-science.
@pytest.mark.parametrize(
    ("byte", "linear"), [(1, 0.000303527), (10, 0.003035270), (11, 0.003346536), (128, 0.215860500)]
)
def test_srgb_decoding(byte: int, linear: float) -> None:
    assert decode_srgb(byte / 255.0) == pytest.approx(linear, abs=5e-10)
    assert srgb_to_linear(np.full(3, byte, np.uint8))[0] == pytest.approx(linear, abs=5e-10)


def test_srgb_encoding_of_middle_grey() -> None:
    assert encode_srgb(0.18) == pytest.approx(0.461356129500442, abs=1e-12)


# WCAG 2.2 definitions of relative luminance and contrast ratio; ratios on white worked out from them.
@pytest.mark.parametrize(
    ("color", "ratio"),
    [
        ("#000000", 21.0),
        ("#777777", 4.4781),
        ("#767676", 4.5422),
        ("#949494", 3.0335),
        ("#959595", 2.9953),
        ("#595959", 7.0047),
        ("#ff0000", 3.9985),
        ("#0000ff", 8.5925),
        ("#00ff00", 1.3722),
        ("#ffff00", 1.0738),
    ],
)
def test_contrast_on_white(color: str, ratio: float) -> None:
    # Four published digits; the threshold 0.04045 or 0.03928 makes no difference at 8 bits (WCAG note).
    assert contrast_ratio(rgb(color), rgb("#ffffff")) == pytest.approx(ratio, abs=6e-5)


def test_contrast_of_other_pairs() -> None:
    assert contrast_ratio(rgb("#ff0000"), rgb("#000000")) == pytest.approx(5.2520, abs=6e-5)
    assert contrast_ratio(rgb("#D4AF37"), rgb("#1E1E1E")) == pytest.approx(7.9280, abs=6e-5)


def test_luminance_weights_of_the_primaries() -> None:
    # WCAG 2.2: L = 0.2126 R + 0.7152 G + 0.0722 B.
    primaries = np.eye(3, dtype=np.uint8) * 255
    np.testing.assert_allclose(relative_luminance(primaries), [0.2126, 0.7152, 0.0722], atol=1e-12)


# CIELAB (D65) of sRGB as the open library scikit-image gives it; its matrix has other digits.
@pytest.mark.parametrize(
    ("color", "lab"),
    [
        ("#ff0000", (53.2406, 80.0923, 67.2028)),
        ("#00ff00", (87.7351, -86.1830, 83.1797)),
        ("#0000ff", (32.2957, 79.1856, -107.8573)),
        ("#808080", (53.585, 0.0, 0.0)),
    ],
)
def test_lab_of_srgb_colors(color: str, lab: tuple[float, ...]) -> None:
    np.testing.assert_allclose(srgb_to_lab(rgb(color)), lab, atol=4e-3)


def test_lab_agrees_with_an_independent_library_over_the_whole_cube() -> None:
    from skimage.color import rgb2lab

    levels = np.arange(0, 256, 17, dtype=np.uint8)
    cube = np.stack(np.meshgrid(levels, levels, levels, indexing="ij"), axis=-1)
    assert np.abs(srgb_to_lab(cube) - rgb2lab(cube)).max() < 0.02
