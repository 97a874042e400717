"""Files of hand relief: what is written is read back to the bit, every bad file is one line that helps."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reliefsmith.errors import RecipeError
from reliefsmith.formats.heightfile import heights_tiff, read_heights

RANGE = (0.0, 0.6)


def _saved(folder: Path, pixels: np.ndarray, name: str, mode: str | None = None) -> Path:
    path = folder / name
    Image.fromarray(pixels, mode).save(path)
    return path


def test_heights_come_back_to_the_bit_with_their_holes(tmp_path: Path) -> None:
    values = np.random.default_rng(1).normal(size=(37, 53)).astype(np.float32)
    values[3:9, 4:8] = np.nan
    (tmp_path / "a.tiff").write_bytes(heights_tiff(values))
    back, of_floats = read_heights(tmp_path / "a.tiff", RANGE)
    assert of_floats
    np.testing.assert_array_equal(back, values)


def test_every_nan_is_written_alike() -> None:
    odd = np.array([0x7FC00001, 0xFFC00000], dtype=np.uint32).view(np.float32)[None]
    assert heights_tiff(odd) == heights_tiff(np.full((1, 2), np.nan, np.float32))


def test_an_independent_reader_finds_the_same_floats(tmp_path: Path) -> None:
    """Pillow's own TIFF reader, by the tags alone."""
    values = np.linspace(-1, 1, 12, dtype=np.float32).reshape(3, 4)
    path = tmp_path / "a.tiff"
    path.write_bytes(heights_tiff(values))
    with Image.open(path) as image:
        assert (image.mode, image.size) == ("F", (4, 3))
        np.testing.assert_array_equal(np.asarray(image), values)


@pytest.mark.parametrize("packing", ["tiff_lzw", "tiff_adobe_deflate"])
def test_packed_floats_are_read(tmp_path: Path, packing: str) -> None:
    values = np.linspace(-1, 1, 600, dtype=np.float32).reshape(20, 30)
    Image.fromarray(values).save(tmp_path / "a.tif", compression=packing)
    np.testing.assert_array_equal(read_heights(tmp_path / "a.tif", RANGE)[0], values)


@pytest.mark.parametrize(
    ("name", "pixels"),
    [
        ("a.png", np.array([[0, 51, 255]], np.uint8)),
        ("a.png", np.array([[0, 13107, 65535]], np.uint16)),
        ("a.tif", np.array([[0, 13107, 65535]], np.uint16)),
        ("a.bmp", np.array([[0, 51, 255]], np.uint8)),
        ("a.png", np.repeat(np.array([[[0], [51], [255]]], np.uint8), 3, axis=2)),
    ],
)
def test_grey_pictures_lie_between_two_heights(tmp_path: Path, name: str, pixels: np.ndarray) -> None:
    values, of_floats = read_heights(_saved(tmp_path, pixels, name), (-0.1, 0.9))
    assert not of_floats
    np.testing.assert_allclose(values, [[-0.1, 0.1, 0.9]], atol=1e-6)


def test_where_a_picture_is_transparent_it_does_not_hold(tmp_path: Path) -> None:
    pixels = np.array([[[255, 255], [255, 0]]], np.uint8)
    values, _ = read_heights(_saved(tmp_path, pixels, "a.png"), RANGE)
    assert values[0, 0] == pytest.approx(0.6)
    assert np.isnan(values[0, 1])


BAD = {
    "nowhere": (None, "there is no hand relief"),
    "folder": ("folder", "no ordinary file"),
    "empty": (b"", "no picture that can be read"),
    "text": (b"heights = 3\n", "no picture that can be read"),
    "cut off": (heights_tiff(np.ones((40, 40), np.float32))[:-999], "damaged or cut off"),
    "nan everywhere": (heights_tiff(np.full((4, 4), np.nan, np.float32)), "NaN everywhere"),
    "infinite": (heights_tiff(np.array([[0, np.inf]], np.float32)), "infinite"),
    "too high": (heights_tiff(np.array([[0, 51]], np.float32)), "51 mm"),
    "too many": (
        heights_tiff(np.zeros((1, 2), np.float32)).replace(
            b"\x00\x01\x04\x00\x01\x00\x00\x00\x02\x00\x00\x00",
            b"\x00\x01\x04\x00\x01\x00\x00\x00\x00\x00\x00\x02",
        ),
        "million values",
    ),
}


@pytest.mark.parametrize("case", BAD, ids=str)
def test_bad_files_are_one_line(tmp_path: Path, case: str, capfd: pytest.CaptureFixture[str]) -> None:
    content, words = BAD[case]
    path = tmp_path / "hand.tiff"
    if content == "folder":
        path.mkdir()
    elif isinstance(content, bytes):
        path.write_bytes(content)
    with pytest.raises(RecipeError, match=words) as caught:
        read_heights(path, RANGE)
    assert "\n" not in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_colors_are_no_heights(tmp_path: Path) -> None:
    pixels = np.array([[[250, 20, 20], [0, 0, 0]]], np.uint8)
    with pytest.raises(RecipeError, match="has colors"):
        read_heights(_saved(tmp_path, pixels, "a.png"), RANGE)


def test_whole_numbers_of_32_bits_are_refused(tmp_path: Path) -> None:
    path = _saved(tmp_path, np.array([[1, 2]], np.int32), "a.tif")
    with pytest.raises(RecipeError, match="kind that is not read"):
        read_heights(path, RANGE)
