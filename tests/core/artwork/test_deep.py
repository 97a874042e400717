"""TIFF of unusual kinds: deep grey is read by its own black and white, what cannot be is said plainly."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, features

from reliefsmith.artwork import read
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings

from .tiffs import BITS, COMPRESSION, HEIGHT, PHOTOMETRIC, SAMPLES, WIDTH, packed_12_bit, tiff

SETTINGS = ArtworkSettings()


def grey(box: int, ground: int) -> np.ndarray:
    values = np.full((HEIGHT, WIDTH), ground, np.uint16)
    values[12:36, 16:48] = box
    return values


def read_back(folder: Path, data: bytes) -> tuple[int, int]:
    """Return the levels of the box and of the ground."""
    (folder / "kite.tif").write_bytes(data)
    artwork = read(folder / "kite.tif", SETTINGS)
    at = round(24 * artwork.scale), round(32 * artwork.scale)
    return int(artwork.rgb[at][0]), int(artwork.rgb[2, 2][0])


def test_white_of_12_bits_is_4095(tmp_path: Path) -> None:
    """TIFF 6.0, BitsPerSample: the lightest of a BlackIsZero picture is 2**BitsPerSample - 1."""
    data = packed_12_bit(grey(1000, 4095).tolist())
    assert read_back(tmp_path, tiff(data, {BITS: [12]})) == (round(1000 / 4095 * 255), 255)


def test_white_of_16_bits_is_65535(tmp_path: Path) -> None:
    data = grey(0x4000, 0xFFFF).astype("<u2").tobytes()
    assert read_back(tmp_path, tiff(data, {BITS: [16]})) == (64, 255)


def test_white_is_zero_in_16_bits(tmp_path: Path) -> None:
    """TIFF 6.0, PhotometricInterpretation 0: 0 is white."""
    data = grey(0xFFFF, 0).astype("<u2").tobytes()
    assert read_back(tmp_path, tiff(data, {BITS: [16], PHOTOMETRIC: [0]})) == (0, 255)


@pytest.mark.parametrize(
    "fields", [{BITS: [12] * 3, SAMPLES: [3], PHOTOMETRIC: [2]}, {COMPRESSION: [34712]}, {BITS: [13]}]
)
def test_a_kind_not_read_is_called_a_tiff(tmp_path: Path, fields: dict[int, list[int]]) -> None:
    (tmp_path / "kite.tif").write_bytes(tiff(bytes(WIDTH * HEIGHT * 6), fields))
    with pytest.raises(ArtworkError, match="TIFF that is damaged or cut off, or of a kind that is not read"):
        read(tmp_path / "kite.tif", SETTINGS)


def test_webp_within_a_tiff_is_named(tmp_path: Path) -> None:
    file = io.BytesIO()
    Image.new("RGB", (WIDTH, HEIGHT), (200, 30, 40)).save(file, "WEBP", lossless=True)
    fields = {BITS: [8] * 3, SAMPLES: [3], PHOTOMETRIC: [2], COMPRESSION: [50001]}
    (tmp_path / "kite.tif").write_bytes(tiff(file.getvalue(), fields))
    try:
        Image.new("RGB", (16, 16)).save(io.BytesIO(), "TIFF", compression="webp")
    except OSError:
        with pytest.raises(ArtworkError, match="TIFF packed with WEBP, which cannot be unpacked"):
            read(tmp_path / "kite.tif", SETTINGS)
    else:
        assert tuple(read(tmp_path / "kite.tif", SETTINGS).rgb[5, 5]) == (200, 30, 40)


@pytest.mark.skipif(not features.check("libtiff"), reason="no libtiff")
def test_damage_in_a_packing_that_is_known_is_damage(tmp_path: Path) -> None:
    Image.effect_noise((64, 48), 80).save(tmp_path / "kite.tif", compression="tiff_lzw")
    whole = (tmp_path / "kite.tif").read_bytes()
    (tmp_path / "kite.tif").write_bytes(whole[:8] + bytes(600) + whole[608:])
    with pytest.raises(ArtworkError, match="damaged or cut off"):
        read(tmp_path / "kite.tif", SETTINGS)
