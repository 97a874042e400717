"""Reading: every everyday kind of file, upright, in sRGB, at working size; and clear refusals."""

from __future__ import annotations

import io
import os
import sys
import zlib
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork import read, read_steps
from reliefsmith.artwork.opening import read_bytes
from reliefsmith.errors import ArtworkError
from reliefsmith.progress import Progress
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.walk.pipeline import picture_key
from tiers import broad

from .turns import BEFORE_TURN, ORIENTATION

SETTINGS = ArtworkSettings()
WIDTH, HEIGHT = 1000, 760


def kite(mode: str = "RGB") -> Image.Image:
    """A red square at the upper left and a blue bar at the bottom, on white."""
    image = Image.new("RGB", (WIDTH, HEIGHT), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((100, 100, 299, 299), fill=(200, 30, 40))
    draw.rectangle((0, 700, WIDTH - 1, HEIGHT - 1), fill=(20, 60, 160))
    return image.quantize(8) if mode == "P" else image.convert(mode)


def saved(folder: Path, image: Image.Image, name: str, **options: object) -> Path:
    path = folder / name
    image.save(path, **options)
    return path


@pytest.mark.parametrize(
    ("name", "mode", "options", "tolerance"),
    [
        ("a.png", "RGB", {}, 0),
        ("a.png", "P", {}, 0),
        ("a.bmp", "RGB", {}, 0),
        ("a.gif", "P", {}, 0),
        ("a.tif", "RGB", {"compression": "tiff_lzw"}, 0),
        ("a.tif", "RGB", {"compression": "jpeg", "quality": 95}, 6),
        ("a.jpg", "RGB", {"quality": 95}, 6),
        ("a.jpg", "CMYK", {"quality": 95}, 6),
        ("a.tif", "CMYK", {}, 0),
        ("a.webp", "RGB", {"lossless": True}, 0),
        ("a.webp", "RGB", {"quality": 90}, 8),
        ("a.webp", "RGBA", {"lossless": True, "exact": True}, 0),
    ],
)
def test_every_kind_of_file_gives_the_same_colors(
    tmp_path: Path, name: str, mode: str, options: dict[str, object], tolerance: int
) -> None:
    artwork = read(saved(tmp_path, kite(mode), name, **options), SETTINGS)
    assert artwork.rgb.shape == (HEIGHT, WIDTH, 3)
    assert artwork.rgb.dtype == np.uint8
    assert artwork.source_px == (WIDTH, HEIGHT)
    assert artwork.scale == 1.0
    assert artwork.lossy is (tolerance > 0)
    assert artwork.has_alpha is False
    assert (artwork.alpha == 1).all()
    for (x, y), color in {
        (200, 200): (200, 30, 40),
        (500, 730): (20, 60, 160),
        (600, 300): (255,) * 3,
    }.items():
        assert np.abs(artwork.rgb[y, x].astype(int) - color).max() <= tolerance


def test_grey_and_one_bit_pictures_keep_their_levels(tmp_path: Path) -> None:
    grey = read(saved(tmp_path, kite("L"), "g.png"), SETTINGS)
    expected = np.asarray(kite("L"))
    assert (grey.rgb == expected[..., None]).all()
    one = read(saved(tmp_path, kite("L").point(lambda v: 255 * (v > 128)).convert("1"), "b.png"), SETTINGS)
    assert set(np.unique(one.rgb)) == {0, 255}


def test_sixteen_bit_grey_uses_its_high_byte(tmp_path: Path) -> None:
    levels = (np.asarray(kite("L")).astype(np.uint16) * 257).astype(np.uint16)
    Image.fromarray(levels).save(tmp_path / "deep.png")
    artwork = read(tmp_path / "deep.png", SETTINGS)
    assert (artwork.rgb == np.asarray(kite("L"))[..., None]).all()


def test_transparency_separates_and_colored_fringe_does_not_show(tmp_path: Path) -> None:
    alpha = Image.new("L", (WIDTH, HEIGHT), 0)
    ImageDraw.Draw(alpha).ellipse((200, 150, 700, 650), fill=255)
    image = Image.new("RGB", (WIDTH, HEIGHT), (0, 255, 0))  # green where nothing is
    image.paste((200, 30, 40), (0, 0), alpha)
    image.putalpha(alpha)
    artwork = read(saved(tmp_path, image, "cut.png"), SETTINGS)
    assert artwork.has_alpha
    assert artwork.alpha[0, 0] == 0
    assert artwork.alpha[400, 450] == 1
    assert tuple(artwork.rgb[400, 450]) == (200, 30, 40)


def test_fringe_color_does_not_bleed_in_when_reduced(tmp_path: Path) -> None:
    image = Image.new("RGBA", (5000, 100), (0, 255, 0, 0))
    image.paste((200, 30, 40, 255), (0, 0, 2501, 100))
    artwork = read(saved(tmp_path, image, "fringe.png"), SETTINGS)
    visible = artwork.rgb[artwork.alpha > 0.1]
    assert artwork.scale == 1 / 4
    assert np.abs(visible.astype(int) - (200, 30, 40)).max() <= 3  # premultiplied bytes round


LARGE = (4801, 3603)  # read by blocks


@pytest.mark.parametrize(
    ("size", "orientation"),
    broad(
        product([(WIDTH, HEIGHT), LARGE], range(1, 9)),
        lambda case: case[0] != LARGE or case[1] in (3, 6),
    ),
)
def test_exif_orientation_turns_the_picture_upright(
    tmp_path: Path, orientation: int, size: tuple[int, int]
) -> None:
    upright = kite().resize(size, Image.Resampling.NEAREST)
    before = BEFORE_TURN[orientation]
    stored = upright if before is None else upright.transpose(before)
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    reference = read(saved(tmp_path, upright, "up.jpg", quality=95, subsampling=0), SETTINGS)
    path = saved(tmp_path, stored, "o.jpg", quality=95, subsampling=0, exif=exif.tobytes())
    artwork = read(path, SETTINGS)
    assert artwork.source_px == size
    assert artwork.rgb.shape == reference.rgb.shape
    # The same picture but for JPEG blocks that lie elsewhere: edges agree to a small part of a pixel.
    assert np.abs(artwork.rgb.astype(int) - reference.rgb).mean() < 1.0


@pytest.mark.parametrize(("name", "factor"), [("big.png", 5), ("big.jpg", 4)])
def test_large_pictures_are_reduced_to_block_means(tmp_path: Path, name: str, factor: int) -> None:
    size = (6001, 3002)
    image = Image.new("RGB", size, "white")
    ImageDraw.Draw(image).rectangle((1200, 600, 3599, 1799), fill=(20, 60, 160))
    artwork = read(saved(tmp_path, image, name), SETTINGS)
    assert artwork.scale == 1 / factor
    assert artwork.rgb.shape == (-(-size[1] // factor), -(-size[0] // factor), 3)
    assert artwork.source_px == size
    ink = (255.0 - artwork.rgb[..., 0]) / (255.0 - 20.0)
    assert ink.sum() * factor**2 == pytest.approx(2400 * 1200, rel=2e-3)
    column = np.nonzero(artwork.rgb[1000 // factor, :, 0] < 128)[0]
    assert (column[0] * factor, (column[-1] + 1) * factor) == (1200, 3600)


def test_small_pictures_are_enlarged_without_moving(tmp_path: Path) -> None:
    image = Image.new("RGB", (200, 120), "white")
    ImageDraw.Draw(image).rectangle((50, 30, 149, 89), fill=(0, 0, 0))
    artwork = read(saved(tmp_path, image, "small.png"), SETTINGS)
    factor = round(artwork.scale)
    assert factor >= 2
    assert artwork.rgb.shape == (120 * factor, 200 * factor, 3)
    dark = np.argwhere(artwork.rgb[..., 0] < 128)
    np.testing.assert_array_equal(dark.min(axis=0), [30 * factor, 50 * factor])
    np.testing.assert_array_equal(dark.max(axis=0) + 1, [90 * factor, 150 * factor])


def test_the_kind_is_told_by_content_not_by_name(tmp_path: Path) -> None:
    path = saved(tmp_path, kite(), "real.png")
    other = path.rename(tmp_path / "real.jpg")
    assert read(other, SETTINGS).lossy is False


def refusal(path: Path, settings: ArtworkSettings = SETTINGS) -> str:
    with pytest.raises(ArtworkError) as caught:
        read(path, settings)
    message = str(caught.value)
    assert message
    assert "\n" not in message
    return message


def test_missing_and_folder_and_empty(tmp_path: Path) -> None:
    assert "cannot read picture" in refusal(tmp_path / "none.png")
    assert "is a folder" in refusal(tmp_path)
    (tmp_path / "empty.png").write_bytes(b"")
    assert "is empty" in refusal(tmp_path / "empty.png")
    assert "cannot read picture" in refusal(Path("a\0b.png"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_named_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.png")
    assert "no ordinary file" in refusal(tmp_path / "pipe.png")


def test_text_renamed_to_png(tmp_path: Path) -> None:
    (tmp_path / "text.png").write_text("A heron stands in the reeds.\n" * 40)
    assert "no picture that can be read" in refusal(tmp_path / "text.png")


def test_heic_without_its_extra_names_the_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pillow_heif", None)  # as if not installed
    (tmp_path / "phone.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(64))
    assert "reliefsmith[heic]" in refusal(tmp_path / "phone.heic")


@pytest.mark.parametrize("name", ["cut.png", "cut.jpg", "cut.gif", "cut.tif", "cut.webp", "cut.bmp"])
@pytest.mark.parametrize("share", [0.6, 0.05])
def test_cut_off_files(tmp_path: Path, name: str, share: float) -> None:
    rng = np.random.default_rng(7)
    image = Image.fromarray(rng.integers(0, 255, (300, 300, 3), dtype=np.uint8))
    whole = saved(tmp_path, image, name).read_bytes()
    (tmp_path / name).write_bytes(whole[: int(len(whole) * share)])
    message = refusal(tmp_path / name)
    assert "damaged or cut off" in message or "no picture that can be read" in message


def test_size_bounds_are_checked_before_decoding(tmp_path: Path) -> None:
    assert "1 x 1 px" in refusal(saved(tmp_path, Image.new("RGB", (1, 1)), "dot.png"))
    assert "at least 16 px" in refusal(saved(tmp_path, Image.new("RGB", (400, 15)), "line.png"))
    path = saved(tmp_path, kite(), "k.png")
    assert "megapixels, more than 0.5" in refusal(path, ArtworkSettings(max_megapixels=0.5))
    header = bytearray(path.read_bytes())
    header[16:24] = (60000).to_bytes(4, "big") * 2  # claims 3600 megapixels
    header[29:33] = zlib.crc32(header[12:29]).to_bytes(4, "big")
    (tmp_path / "bomb.png").write_bytes(bytes(header))
    assert "3600.0 megapixels, more than the 178 that are decoded safely" in refusal(tmp_path / "bomb.png")
    header[16:24] = (10_000).to_bytes(4, "big") * 2  # claims 100 megapixels, which the setting can allow
    header[29:33] = zlib.crc32(header[12:29]).to_bytes(4, "big")
    (tmp_path / "large.png").write_bytes(bytes(header))
    assert "100.0 megapixels, more than 50; make it smaller or raise" in refusal(tmp_path / "large.png")


def test_fully_transparent(tmp_path: Path) -> None:
    assert "fully transparent" in refusal(saved(tmp_path, Image.new("RGBA", (64, 64)), "clear.png"))


def test_damaged_bytes_never_raise_anything_else(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    path = tmp_path / "x"
    for format_ in ("PNG", "JPEG", "GIF", "TIFF", "WEBP", "BMP"):
        buffer = io.BytesIO()
        kite().resize((120, 90)).save(buffer, format_)
        whole = np.frombuffer(buffer.getvalue(), np.uint8)
        for _ in range(12):
            hurt = whole.copy()
            hurt[rng.integers(0, len(hurt), 12)] = rng.integers(0, 256, 12)
            path.write_bytes(hurt.tobytes())
            try:
                assert read(path, SETTINGS).rgb.ndim == 3
            except ArtworkError as error:
                assert "\n" not in str(error)  # noqa: PT017 - either outcome is right


def test_reading_goes_in_steps_and_can_be_closed(tmp_path: Path) -> None:
    steps = read_steps(saved(tmp_path, kite(), "k.png"), SETTINGS)
    assert isinstance(next(steps), Progress)
    steps.close()


def test_a_jpeg_is_decoded_once_whatever_its_kind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = saved(tmp_path, kite().resize((2400, 2400)), "large.jpg", quality=80)
    opened, usual = [], Image.open
    monkeypatch.setattr(Image, "open", lambda *args, **how: opened.append(args) or usual(*args, **how))
    told = read(path, SETTINGS)
    assert len(opened) == 1
    as_it_is = read(path, replace(SETTINGS, kind="flat"))
    assert told.scale == as_it_is.scale == 0.5
    assert (told.rgb == as_it_is.rgb).all()


def test_the_same_file_gives_the_same_pixels(tmp_path: Path) -> None:
    path = saved(tmp_path, kite(), "k.jpg", quality=70)
    one, other = read(path, SETTINGS), read(path, SETTINGS)
    assert one.rgb.tobytes() == other.rgb.tobytes()


def test_a_file_too_large_is_refused_before_a_byte_of_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "pond.png"
    with path.open("wb") as file:
        file.truncate((512 << 20) + 1)  # a hole: nothing is stored

    def no_reading(*_: object) -> None:
        raise AssertionError("the file was opened")

    monkeypatch.setattr(Path, "open", no_reading)
    monkeypatch.setattr(Path, "read_bytes", no_reading)
    for refuse in (picture_key, read_bytes):
        with pytest.raises(ArtworkError, match=r"pond.png is larger than 512 MiB; make it smaller"):
            refuse(path)
    for refuse in (picture_key, read_bytes):
        with pytest.raises(ArtworkError, match=r"larger than 0.5 MiB; .* artwork.max_file_mib"):
            refuse(path, ArtworkSettings(max_file_mib=0.5))
