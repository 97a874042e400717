"""Color profiles against an independent computation of the same conversion."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from reliefsmith.artwork import read
from reliefsmith.artwork.profile import to_srgb
from reliefsmith.colorimetry import encode_srgb
from reliefsmith.recipe.sections import ArtworkSettings

from .profiles import ADOBE_RGB, DISPLAY_P3, SRGB_TO_XYZ, matrix_profile


def reference(rgb: np.ndarray, space: tuple) -> np.ndarray:
    """Convert by the published primaries, white point D65 and curve, in plain arithmetic."""
    to_xyz, decode, _ = space
    linear = decode(rgb / 255.0) @ to_xyz.T @ np.linalg.inv(SRGB_TO_XYZ).T
    return encode_srgb(np.clip(linear, 0, 1)) * 255.0


@pytest.mark.parametrize("space", [DISPLAY_P3, ADOBE_RGB], ids=["display-p3", "adobe-rgb"])
@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_wide_pictures_come_out_in_srgb(tmp_path: Path, space: tuple, mode: str) -> None:
    patches = np.array(
        [(128, 128, 128), (150, 90, 80), (90, 140, 110), (80, 90, 160), (200, 190, 120)], np.uint8
    )
    pixels = np.repeat(np.repeat(patches[None], 200, axis=0), 150, axis=1)
    image = Image.fromarray(pixels)
    if mode == "RGBA":
        image.putalpha(255)
    image.save(tmp_path / "wide.png", icc_profile=matrix_profile(space))
    artwork = read(tmp_path / "wide.png", ArtworkSettings())
    got = artwork.rgb[100, 75::150].astype(float)
    np.testing.assert_allclose(got, reference(patches, space), atol=1.6)
    # Not a conversion in name only: the stored numbers differ.
    assert np.abs(got - patches).max() > 5


def test_srgb_profiles_change_nothing() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image = Image.fromarray(np.arange(48, dtype=np.uint8).reshape(4, 4, 3))
    assert np.array_equal(np.asarray(to_srgb(image, profile)), np.asarray(image))


@pytest.mark.parametrize("profile", [b"", b"nonsense", None, b"\0" * 200])
def test_damaged_profiles_are_ignored(profile: bytes | None) -> None:
    image = Image.fromarray(np.arange(48, dtype=np.uint8).reshape(4, 4, 3))
    assert np.array_equal(np.asarray(to_srgb(image, profile)), np.asarray(image))


def test_a_profile_for_other_channels_is_ignored() -> None:
    image = Image.new("CMYK", (4, 4), (0, 255, 255, 0))
    converted = to_srgb(image, matrix_profile(DISPLAY_P3))
    assert converted.mode == "RGB"
    assert converted.getpixel((0, 0)) == image.convert("RGB").getpixel((0, 0))
