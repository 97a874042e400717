"""A page to draw on: millimetres from the upper left corner, type in points, the fonts of the data."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO
from typing import TypeAlias

import numpy as np
from PIL import Image, ImageDraw, ImageFont

__all__ = [
    "AXIS",
    "GREY",
    "HAIR",
    "INK",
    "LEAST_POINTS",
    "PANEL",
    "PAPER",
    "At",
    "Canvas",
    "legible",
    "png_bytes",
]

At: TypeAlias = tuple[float, float]
Shade: TypeAlias = tuple[int, int, int]

PAPER: Shade = (255, 255, 255)
PANEL: Shade = (243, 243, 240)
INK: Shade = (34, 38, 43)
GREY: Shade = (90, 96, 104)
HAIR: Shade = (205, 206, 203)
AXIS: Shade = (29, 104, 156)
"""Of the axes: told from the ink of hatches, and dark enough in a copy without color."""

DPI = 300
POINTS_PER_INCH = 72.0
MM_PER_INCH = 25.4
LEAST_POINTS = 6.0
"""Smallest type that is still read on paper."""
LEADING = 1.38
"""Line distance by type size."""

_FINE = 4
"""Samples per pixel side of what is drawn with smooth edges."""
_SUBSTITUTES = "□◊?"

_PNG_MARK = b"\x89PNG\r\n\x1a\n"
_PNG_KINDS = {"L": (0, 1), "RGB": (2, 3), "RGBA": (6, 4)}
"""Color type and channels by mode."""
_BAND_ROWS = 256
"""Rows packed at a time, so that no second copy of the page is held."""


class Canvas:
    """A white page measured in mm.

    Parameters
    ----------
    width_mm, height_mm : float
    dpi : int
        Pixels per inch, also written into the file.
    """

    def __init__(self, width_mm: float, height_mm: float, dpi: int = DPI) -> None:
        self.px_per_mm = dpi / MM_PER_INCH
        self.dpi = dpi
        self.image = Image.new("RGB", (self.px(width_mm), self.px(height_mm)), PAPER)
        self.draw = ImageDraw.Draw(self.image)

    def px(self, mm: float) -> int:
        """Return a length in whole pixels."""
        return round(mm * self.px_per_mm)

    def panel(self, at: At, size: At, *, fill: Shade = PANEL, outline: Shade | None = None) -> None:
        """Draw a rectangle with slightly round corners."""
        box = (self.px(at[0]), self.px(at[1]), self.px(at[0] + size[0]), self.px(at[1] + size[1]))
        self.draw.rounded_rectangle(box, radius=self.px(1.6), fill=fill, outline=outline, width=self.px(0.15))

    def line(self, start: At, end: At, *, fill: Shade = HAIR, width_mm: float = 0.15) -> None:
        """Draw a straight line."""
        level = self.px(start[0]) == self.px(end[0]) or self.px(start[1]) == self.px(end[1])
        if level:
            ends = [(self.px(x), self.px(y)) for x, y in (start, end)]
            self.draw.line(ends, fill=fill, width=max(self.px(width_mm), 1))
            return
        left, top = min(start[0], end[0]) - width_mm, min(start[1], end[1]) - width_mm
        size = (
            self.px(abs(end[0] - start[0]) + 2 * width_mm),
            self.px(abs(end[1] - start[1]) + 2 * width_mm),
        )
        mask = Image.new("L", (size[0] * _FINE, size[1] * _FINE), 0)
        scale = self.px_per_mm * _FINE
        fine = [((x - left) * scale, (y - top) * scale) for x, y in (start, end)]
        ImageDraw.Draw(mask).line(fine, fill=255, width=max(round(width_mm * scale), 1))
        small = mask.reduce(_FINE)
        self.paste(Image.new("RGB", small.size, fill), (left, top), small)

    def disc(self, at: At, radius_mm: float, *, fill: Shade = INK) -> None:
        """Draw a filled circle round a place."""
        side = self.px(2 * radius_mm) + 2
        mask = Image.new("L", (side * _FINE, side * _FINE), 0)
        middle, radius = side * _FINE / 2, radius_mm * self.px_per_mm * _FINE
        box = (middle - radius, middle - radius, middle + radius, middle + radius)
        ImageDraw.Draw(mask).ellipse(box, fill=255)
        small = mask.reduce(_FINE)
        corner = (at[0] - side / 2 / self.px_per_mm, at[1] - side / 2 / self.px_per_mm)
        self.paste(Image.new("RGB", small.size, fill), corner, small)

    def text(
        self,
        at: At,
        text: str,
        *,
        size: float = 8.5,
        bold: bool = False,
        fill: Shade = INK,
        anchor: str = "ls",
    ) -> float:
        """Draw one line of type, its baseline at `at` for anchors that end in "s"; return its width in mm."""
        font = _font(self._type_px(size), bold)
        shown = legible(text)
        self.draw.text((self.px(at[0]), self.px(at[1])), shown, font=font, fill=fill, anchor=anchor)
        return _length(text, self._type_px(size), bold) / self.px_per_mm

    def label(self, at: At, text: str, *, fill: Shade = GREY) -> None:
        """Draw a small spaced heading in capitals."""
        font, x = _font(self._type_px(6.6), True), self.px(at[0])
        for char in legible(text.upper()):
            self.draw.text((x, self.px(at[1])), char, font=font, fill=fill, anchor="ls")
            x += round(font.getlength(char) + self._type_px(6.6) * 0.09)

    def width(self, text: str, *, size: float = 8.5, bold: bool = False) -> float:
        """Return the width of a line of type in mm."""
        return _length(text, self._type_px(size), bold) / self.px_per_mm

    def fitted(self, text: str, width_mm: float, *, size: float, bold: bool = False) -> tuple[str, float]:
        """Return the text and the type size at which it fits: smaller first, cut with "..." at last."""
        while size > LEAST_POINTS and self.width(text, size=size, bold=bold) > width_mm:
            size = max(size - 0.5, LEAST_POINTS)
        if self.width(text, size=size, bold=bold) > width_mm:
            while text and self.width(f"{text}...", size=size, bold=bold) > width_mm:
                text = text[:-1]
            text = f"{text}..."
        return text, size

    def wrapped(self, text: str, width_mm: float, *, size: float = 8.5, bold: bool = False) -> list[str]:
        """Break text into lines that fit a width; a word longer than a line is broken too."""
        lines, line, used = [], "", 0.0
        space = self.width(" ", size=size, bold=bold)
        for word in text.split():
            wide = self.width(word, size=size, bold=bold)
            if line and used + space + wide <= width_mm:
                line, used = f"{line} {word}", used + space + wide
                continue
            lines += [line] if line else []
            line, used = word, wide
            while used > width_mm and len(line) > 1:
                cut = self._longest(line, width_mm, size, bold)
                lines.append(line[:cut])
                line = line[cut:]
                used = self.width(line, size=size, bold=bold)
        return [*lines, line] if line else lines

    def paragraph(
        self, at: At, lines: Sequence[str], *, size: float = 8.5, fill: Shade = INK, bold: bool = False
    ) -> float:
        """Draw lines of type below each other; return the y of the next baseline in mm."""
        y = at[1]
        for line in lines:
            self.text((at[0], y), line, size=size, fill=fill, bold=bold)
            y += self.leading(size)
        return y

    def leading(self, size: float) -> float:
        """Return the distance of baselines in mm."""
        return size * LEADING * MM_PER_INCH / POINTS_PER_INCH

    def paste(self, picture: Image.Image, at: At, mask: Image.Image | None = None) -> None:
        """Put a picture with its upper left corner at a place; an RGBA picture is its own mask."""
        own = picture if picture.mode == "RGBA" else None
        self.image.paste(picture, (self.px(at[0]), self.px(at[1])), mask or own)

    def _type_px(self, points: float) -> int:
        return round(points * self.dpi / POINTS_PER_INCH)

    def _longest(self, word: str, width_mm: float, size: float, bold: bool) -> int:
        count = len(word)
        while count > 1 and self.width(word[:count], size=size, bold=bold) > width_mm:
            count -= 1
        return count


def png_bytes(image: Image.Image, *, dpi: int | None = None, level: int = 6) -> bytes:
    """Return a picture "L", "RGB" or "RGBA" as PNG, with its physical size if `dpi` is given.

    Rows stay unfiltered: on drawings with plain grounds that packs smaller than the usual filters, and in
    less than half the time (measured on proofs). PNG specification, third edition, sections 9 and 11.
    """
    width, height = image.size
    kind, channels = _PNG_KINDS[image.mode]
    packer, packed = zlib.compressobj(level), []
    for top in range(0, height, _BAND_ROWS):
        band = np.asarray(image.crop((0, top, width, min(top + _BAND_ROWS, height))))
        rows = np.zeros((len(band), 1 + width * channels), dtype=np.uint8)  # a row begins with 0: no filter
        rows[:, 1:] = band.reshape(len(band), -1)
        packed.append(packer.compress(rows.data))
    chunks = [(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, kind, 0, 0, 0))]
    if dpi is not None:
        per_meter = round(dpi / MM_PER_INCH * 1000)
        chunks.append((b"pHYs", struct.pack(">IIB", per_meter, per_meter, 1)))
    chunks += [(b"IDAT", b"".join([*packed, packer.flush()])), (b"IEND", b"")]
    return _PNG_MARK + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )


def legible(text: str) -> str:
    """Replace each character that the shipped font cannot draw by an empty box."""
    return "".join(char if _drawable(char) else _substitute() for char in text)


@cache
def _font(pixels: int, bold: bool) -> ImageFont.FreeTypeFont:
    # The plain layout engine is in every build of the library, so the bytes are the same everywhere.
    data = BytesIO(_font_file("Lato-Bold.ttf" if bold else "Lato-Regular.ttf"))
    return ImageFont.truetype(data, pixels, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=1024)
def _length(text: str, pixels: int, bold: bool) -> float:
    return float(_font(pixels, bold).getlength(legible(text)))


@cache
def _font_file(name: str) -> bytes:
    return (files("reliefsmith_data") / "fonts" / name).read_bytes()


@cache
def _drawable(char: str) -> bool:
    if char.isspace():
        return True
    font = _font(24, False)
    return bytes(font.getmask(char)) != bytes(font.getmask("\uffff"))


@cache
def _substitute() -> str:
    return next(char for char in _SUBSTITUTES if _drawable(char))
