"""Decoding: against Pillow's own turning and reducing, mode by mode."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageOps

from reliefsmith.artwork import decode
from reliefsmith.artwork.decode import converter, decode_steps, has_transparency, is_aligned, load, turned
from reliefsmith.artwork.opening import Source
from reliefsmith.errors import ArtworkError
from reliefsmith.progress import drain

NOISE = np.random.default_rng(7).integers(0, 256, (300, 41, 4)).astype(np.uint8)


def source(image: Image.Image, orientation: int = 1, profile: bytes | None = None) -> Source:
    return Source(image, "kite.png", orientation, profile, False)


def decoded(image: Image.Image, factor: int = 1, orientation: int = 1) -> np.ndarray:
    return np.asarray(drain(decode_steps(source(image, orientation), factor)))


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_is_turned_as_pillow_turns_it(orientation: int) -> None:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(NOISE[..., :3]).save(out, "PNG", exif=exif)
    image = Image.open(out)
    wanted = np.asarray(ImageOps.exif_transpose(image))
    assert np.array_equal(np.asarray(turned(Image.fromarray(NOISE[..., :3]), orientation)), wanted)
    assert np.array_equal(decoded(image, 1, orientation), wanted)


@pytest.mark.parametrize("orientation", [3, 6, 7])
@pytest.mark.parametrize("factor", [2, 7])
def test_a_narrower_last_pixel_is_at_the_right_and_lower_end_of_the_upright_picture(
    orientation: int, factor: int
) -> None:
    """Turned first and then reduced, by Pillow."""
    image = Image.fromarray(NOISE[..., :3])
    wanted = np.asarray(turned(image, orientation).reduce(factor))
    assert np.array_equal(decoded(image, factor, orientation), wanted)


@pytest.mark.parametrize(("size", "aligned"), [((8, 6), True), ((9, 6), False), ((8, 7), False)])
def test_only_a_picture_without_a_rest_is_reduced_before_it_is_turned(
    size: tuple[int, int], aligned: bool
) -> None:
    assert is_aligned(size, 6, 2) is aligned
    assert is_aligned(size, 1, 2)


@pytest.mark.parametrize("factor", [2, 3, 5])
@pytest.mark.parametrize("mode", ["RGBA", "P", "LA", "YCbCr", "1"])
def test_strips_are_reduced_as_the_whole_is(mode: str, factor: int) -> None:
    """300 rows are three strips; with alpha colors are averaged by their share, as Pillow does."""
    image = Image.fromarray(NOISE).convert(mode)
    kind = {"RGBA": "RGBA", "LA": "RGBA", "1": "L"}.get(mode, "RGB")
    wanted = np.asarray(image.convert(kind).reduce(factor))
    assert np.array_equal(decoded(image, factor), wanted)


@pytest.mark.parametrize(
    ("mode", "keep_inks", "made"),
    [("L", False, "L"), ("RGB", False, "RGB"), ("CMYK", True, "CMYK"), ("CMYK", False, "RGB"),
     ("1", False, "L"), ("P", False, "RGB"), ("RGBA", False, "RGBA"), ("PA", False, "RGBA"),
     ("F", False, "L"),
     ("I;16", False, "L"), ("HSV", True, "RGB")],
)  # fmt: skip
def test_every_mode_becomes_grey_color_inks_or_color_with_alpha(
    mode: str, keep_inks: bool, made: str
) -> None:
    image = Image.new(mode, (4, 4))
    assert converter(image, (0.0, 65535.0), keep_inks=keep_inks)(image).mode == made


def test_a_palette_with_a_clear_color_has_transparency() -> None:
    image = Image.new("P", (4, 4))
    assert not has_transparency(image)
    image.info["transparency"] = 0
    assert has_transparency(image)
    assert decoded(image)[..., 3].tolist() == [[0] * 4] * 4


@pytest.mark.parametrize(
    ("values", "levels"),
    [
        ([0.0, 0.5, 1.0], [0, 128, 255]),  # shares
        ([0.0, 0.5, 1.01], [0, 1, 1]),  # levels of eight bits
        ([0.0, 100.0, 255.0], [0, 100, 255]),
        ([0.0, 32768.0, 65535.0], [0, 128, 255]),
        ([0.0, 256.0], [0, 1]),
        ([-1.0, 0.0, 1.0], [0, 128, 255]),  # from the least to the most
        ([5e6, 7e6], [0, 255]),
        ([-3.0, -3.0], [0, 0]),
    ],
)
def test_floats_become_levels_by_their_range(values: list[float], levels: list[int]) -> None:
    image = Image.fromarray(np.array([values], np.float32))
    assert decoded(image)[0].tolist() == levels


def test_floats_that_are_no_numbers_are_black_or_white_without_a_word() -> None:
    image = Image.fromarray(np.array([[np.nan, np.inf, 0.0, 1.0]], np.float32))
    found = decoded(image)[0].tolist()
    assert found[0] in (0, 255)


@pytest.mark.parametrize("ends", [(0.0, 4095.0), (65535.0, 0.0)])
def test_deep_grey_goes_from_black_to_white_where_its_file_says(ends: tuple[float, float]) -> None:
    image = Image.fromarray(np.array([[0, 1000, 4095, 65535]], np.uint16))
    found = np.asarray(converter(image, ends, keep_inks=False)(image))[0]
    low, high = ends
    wanted = np.clip((np.array([0, 1000, 4095, 65535]) - low) / (high - low), 0, 1) * 255
    assert np.abs(found - wanted).max() <= 0.5


def test_a_transparent_level_of_deep_grey_is_clear_and_the_others_keep_theirs() -> None:
    image = Image.fromarray(np.array([[0, 300, 65535]], np.uint16))
    image.info["transparency"] = 300
    found = decoded(image)[0]
    assert found[:, 3].tolist() == [255, 0, 255]
    assert found[[0, 2], 0].tolist() == [0, 255]


def broken(compression: str, monkeypatch: pytest.MonkeyPatch) -> Image.Image:
    """Return a TIFF whose decoder fails."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "TIFF")
    image = Image.open(out)
    image.info["compression"] = compression

    def fail() -> None:
        raise OSError("decoder error -9")

    monkeypatch.setattr(image, "load", fail)
    return image


@pytest.mark.parametrize(
    ("kind", "known", "told"), [("webp", False, True), ("webp", True, False), ("lzw", False, False)]
)
def test_a_packing_that_is_unknown_here_is_named_and_damage_is_damage(
    monkeypatch: pytest.MonkeyPatch, kind: str, known: bool, told: bool
) -> None:
    monkeypatch.setattr(decode, "_packs", lambda _kind: known)
    image = broken(kind, monkeypatch)
    if told:
        with pytest.raises(ArtworkError, match="a TIFF packed with WEBP, which cannot be unpacked here"):
            load(image)
    else:
        with pytest.raises(OSError, match="decoder error"):
            load(image)


def test_a_packing_is_known_where_libtiff_packs_a_picture_so(monkeypatch: pytest.MonkeyPatch) -> None:
    assert decode._packs("tiff_lzw")

    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("not built in")

    monkeypatch.setattr(Image.Image, "save", fail)
    assert not decode._packs("webp")
