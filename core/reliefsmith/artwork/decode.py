"""Decoding: any pixel mode to 8-bit color, reduced on the way in strips so that memory stays low."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
from PIL import Image

from ..errors import ArtworkError
from ..formats.silence import silent
from ..progress import Progress, Steps
from .opening import Source

__all__ = ["converter", "decode_steps", "has_transparency", "is_aligned", "load", "turned"]

_PERHAPS_UNKNOWN = ("webp", "zstd", "lzma")  # packings that libtiff may be built without
_STRIP_ROWS = 128  # source rows converted at a time: a few megabytes, which stay in the cache

# EXIF orientation 2 to 8 as the turn that makes the picture upright (EXIF 2.3, tag 0x0112).
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def decode_steps(source: Source, factor: int) -> Steps[Image.Image]:
    """Decode a picture, reduced by an integer factor, and turn it upright.

    Parameters
    ----------
    source : Source
    factor : int
        Source pixels that make one working pixel each way; a power of two for JPEG. A remainder at the
        right and lower edge of the upright picture becomes a narrower last pixel.

    Returns
    -------
    PIL image
        Mode L, RGB, CMYK (with a profile) or RGBA; averages are taken with alpha multiplied in.
    """
    image, orientation = source.image, source.orientation
    load(image)
    yield Progress("decoding the picture", 0.4)
    if not is_aligned(image.size, orientation, factor):
        image, orientation = turned(image, orientation), 1
    convert = converter(image, source.ends, keep_inks=source.profile is not None)
    reduced = yield from _reduced_steps(image, factor, convert)
    return turned(reduced, orientation)


def load(image: Image.Image) -> None:
    """Decode an opened picture; once it is, nothing happens."""
    kind = image.info.get("compression")
    with silent(image.format):
        try:
            image.load()
        except OSError as error:
            if image.format == "TIFF" and kind in _PERHAPS_UNKNOWN and not _packs(kind):
                raise ArtworkError(
                    f"the picture is a TIFF packed with {kind.upper()}, which cannot be unpacked here; "
                    "save it with LZW or unpacked, or as PNG"
                ) from error
            raise


def _packs(compression: str) -> bool:
    """Return whether libtiff was built with a way of packing."""
    try:
        Image.new("RGB", (16, 16)).save(io.BytesIO(), "TIFF", compression=compression)
    except (OSError, ValueError, RuntimeError):
        return False
    return True


def is_aligned(size: tuple[int, int], orientation: int, factor: int) -> bool:
    """Return whether a picture can be reduced before it is turned without moving its pixels.

    A narrower last pixel must not become the first one.
    """
    return orientation == 1 or (size[0] % factor == 0 and size[1] % factor == 0)


def turned(image: Image.Image, orientation: int) -> Image.Image:
    """Return the picture turned upright after its EXIF orientation."""
    return image.transpose(_TURNS[orientation]) if orientation in _TURNS else image


def has_transparency(image: Image.Image) -> bool:
    """Return whether a decoded picture has an alpha channel or a transparent color."""
    return image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info


def _reduced_steps(
    image: Image.Image, factor: int, convert: Callable[[Image.Image], Image.Image]
) -> Steps[Image.Image]:
    if factor == 1:
        return convert(image)
    if convert is _as_it_is:
        return image.reduce(factor)
    width, height = image.size
    rows = _STRIP_ROWS - _STRIP_ROWS % factor
    strips = []
    for top in range(0, height, rows):
        strip = image.crop((0, top, width, min(top + rows, height)))
        strips.append(convert(strip).reduce(factor))
        if len(strips) % 16 == 0:
            yield Progress("reducing the picture", 0.4 + 0.5 * top / height)
    # Without a color it is not filled, as every row of it is pasted over.
    reduced = Image.new(strips[0].mode, (-(-width // factor), -(-height // factor)), None)
    at = 0
    for strip in strips:
        reduced.paste(strip, (0, at))
        at += strip.size[1]
    return reduced


def converter(
    image: Image.Image, ends: tuple[float, float], *, keep_inks: bool
) -> Callable[[Image.Image], Image.Image]:
    """Choose the conversion to 8-bit grey, color, inks or color with alpha."""
    mode = image.mode
    if has_transparency(image):
        return _to_rgba
    if mode in ("L", "RGB") or (mode == "CMYK" and keep_inks):
        return _as_it_is
    if mode == "1":
        return lambda strip: strip.convert("L")
    if mode.startswith("I") or mode == "F":
        low, high = _levels(image, ends)
        return lambda strip: _to_bytes(strip, low, high)
    return lambda strip: strip.convert("RGB")


def _as_it_is(strip: Image.Image) -> Image.Image:
    return strip


def _to_rgba(strip: Image.Image) -> Image.Image:
    if strip.mode.startswith("I"):  # 16-bit grey with a transparent level
        level = strip.info.get("transparency")
        alpha = Image.fromarray(np.where(np.asarray(strip) == level, 0, 255).astype(np.uint8))
        rgba = _to_bytes(strip, 0.0, 65535.0).convert("RGBA")
        rgba.putalpha(alpha)
        return rgba
    return strip if strip.mode == "RGBA" else strip.convert("RGBA")


def _levels(image: Image.Image, ends: tuple[float, float]) -> tuple[float, float]:
    """Return the values of black and white for a picture of more than 8 bits."""
    if image.mode.startswith("I;16"):
        return ends
    low, high = image.getextrema()
    least, most = float(low), float(high)  # type: ignore[arg-type]
    if image.mode == "F" and least >= 0.0 and most <= 1.0:
        return 0.0, 1.0
    if least >= 0.0 and most <= 65535.0:
        return 0.0, 255.0 if most <= 255.0 else 65535.0
    return least, max(most, least + 1.0)


def _to_bytes(strip: Image.Image, low: float, high: float) -> Image.Image:
    values = np.asarray(strip).astype(np.float32)
    with np.errstate(over="ignore", invalid="ignore"):  # a picture of floats may hold anything
        levels = np.nan_to_num((values - low) * (255.0 / (high - low)))
    return Image.fromarray(np.clip(levels + 0.5, 0.0, 255.0).astype(np.uint8))
