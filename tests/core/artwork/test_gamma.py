"""gAMA and cHRM against the words and figures of the PNG specification."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from reliefsmith.artwork import read
from reliefsmith.recipe.sections import ArtworkSettings

from .profiles import ADOBE_RGB, SRGB_TO_XYZ

PAINT = (27, 42, 73)
SRGB_CHRM = (31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)
"""PNG 3rd edition, 11.3.2.5: what an sRGB picture's cHRM says."""
ADOBE_CHRM = (31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)
"""Adobe RGB (1998), 4.3.1.1."""


def chunks(gamma: int | None = None, chrm: tuple[int, ...] | None = None, srgb: bool = False) -> PngInfo:
    info = PngInfo()
    if gamma is not None:
        info.add(b"gAMA", struct.pack(">I", gamma))
    if chrm is not None:
        info.add(b"cHRM", struct.pack(">8I", *chrm))
    if srgb:
        info.add(b"sRGB", b"\0")
    return info


def shown(folder: Path, color: tuple[int, int, int], mode: str = "RGB", **options: object) -> list[int]:
    image = Image.new("RGB", (400, 400), color)
    image = image.quantize(2) if mode == "P" else image.convert(mode)
    image.save(folder / "kite.png", **options)
    return read(folder / "kite.png", ArtworkSettings()).rgb[200, 200].tolist()


def linear(level: int) -> int:
    """IEC 61966-2-1, written out."""
    value = level / 255
    return round(255 * (value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4))


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "P"])
def test_values_of_gamma_one_are_light(tmp_path: Path, mode: str) -> None:
    stored = tuple(linear(level) for level in PAINT)
    assert stored == (3, 6, 17)
    got = shown(tmp_path, stored, mode, pnginfo=chunks(100000))
    assert np.abs(np.array(got) - PAINT).max() <= 4  # 8 bits of light are coarse in the dark
    assert got[2] > 70


def test_gamma_one_of_light_grey_is_close(tmp_path: Path) -> None:
    assert shown(tmp_path, (linear(200),) * 3, pnginfo=chunks(100000)) == [200] * 3


def test_what_stands_above_gamma(tmp_path: Path) -> None:
    """PNG 3rd edition, 11.3.2: iCCP and sRGB are used rather than gAMA and cHRM."""
    assert shown(tmp_path, PAINT, pnginfo=chunks(100000, srgb=True)) == list(PAINT)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert shown(tmp_path, PAINT, pnginfo=chunks(100000), icc_profile=profile) == list(PAINT)


@pytest.mark.parametrize("gamma", [45455, 45000, 0, 1, 4_000_000_000, None])
def test_usual_and_senseless_gamma_change_nothing(tmp_path: Path, gamma: int | None) -> None:
    assert shown(tmp_path, PAINT, pnginfo=chunks(gamma)) == list(PAINT)
    assert shown(tmp_path, PAINT, pnginfo=chunks(gamma, SRGB_CHRM)) == list(PAINT)
    assert shown(tmp_path, PAINT, pnginfo=chunks(gamma, (31270, 32900, 0, 0, 0, 0, 0, 0))) == list(PAINT)


def test_primaries_beside_gamma_are_converted(tmp_path: Path) -> None:
    to_xyz, _, _ = ADOBE_RGB
    color = (90, 140, 110)
    light = (np.array(color) / 255) ** 2.2 @ to_xyz.T @ np.linalg.inv(SRGB_TO_XYZ).T
    light = np.clip(light, 0, 1)
    expected = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055) * 255
    got = shown(tmp_path, color, pnginfo=chunks(45455, ADOBE_CHRM))
    assert np.abs(np.array(got) - expected).max() <= 1
    assert np.abs(np.array(got) - color).max() > 10


def test_another_white_stays_white_and_grey_grey(tmp_path: Path) -> None:
    d50 = (34567, 35850, *ADOBE_CHRM[2:])
    assert shown(tmp_path, (255, 255, 255), pnginfo=chunks(45455, d50)) == [255] * 3
    grey = shown(tmp_path, (128, 128, 128), pnginfo=chunks(45455, d50))
    assert len(set(grey)) == 1
