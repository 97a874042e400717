"""How the hard pictures of intricate.py are drawn."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import resvg_py
import skimage
from PIL import Image, ImageDraw, ImageFilter

import openart

INKS = np.array(
    [
        (40, 90, 160),
        (90, 160, 90),
        (230, 210, 120),
        (200, 130, 60),
        (120, 70, 40),
        (240, 240, 240),
        (60, 60, 60),
        (180, 60, 90),
    ],
    dtype=np.uint8,
)


def photo(name: str, longest: int, crop: float = 1.0) -> Image.Image:
    """Return a photograph of scikit-image, or its middle, no longer than asked."""

    folder = Path(skimage.__file__).parent / "data"
    image = Image.open(next(folder.glob(f"{name}.*"))).convert("RGB")
    wide, high = image.size
    box = tuple(round(side * (1 + sign * crop) / 2) for sign in (-1, 1) for side in (wide, high))
    image = image.crop(box)  # type: ignore[arg-type]
    image.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    return image


def posterised(image: Image.Image, colors: int) -> Image.Image:
    return image.quantize(colors, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).convert("RGB")


def dithered(image: Image.Image) -> Image.Image:
    return image.convert("1").convert("RGB")


def two_colored(mask: npt.NDArray[np.bool_], scale: int = 1) -> Image.Image:
    """Return dark ink on white, every cell a square of pixels."""
    pixels = np.where(np.kron(mask, np.ones((scale, scale), bool))[..., None], (32, 48, 96), (255, 255, 255))
    return Image.fromarray(pixels.astype(np.uint8))


def stripes(pitch: int, wide: int, high: int, *, slant: float = 0.0, waves: float = 0.0) -> Image.Image:
    y, x = np.mgrid[:high, :wide]
    return two_colored(((x + slant * y + waves * np.sin(y / 9)) % pitch) < pitch / 2)


def checkers(cell: int, count: int) -> Image.Image:
    y, x = np.mgrid[:count, :count]
    return two_colored((x + y) % 2 == 0, cell)


def speckle(side: int, share: float, blur: float, seed: int) -> Image.Image:
    noise = np.random.default_rng(seed).random((side, side))
    if blur:
        gray = Image.fromarray((255 * noise).astype(np.uint8)).filter(ImageFilter.GaussianBlur(blur))
        noise = np.asarray(gray) / 255
    return two_colored(noise < np.quantile(noise, share))


def code(cells: int, scale: int, seed: int) -> Image.Image:
    """Return a square of dark and light cells with three marks in its corners and a quiet zone."""
    mask = np.random.default_rng(seed).random((cells, cells)) < 0.5
    mark = np.zeros((8, 8), bool)
    mark[:7, :7] = True
    mark[1:6, 1:6] = False
    mark[2:5, 2:5] = True
    mask[:8, :8], mask[:8, -8:], mask[-8:, :8] = mark, mark[:, ::-1], mark[::-1]
    return two_colored(np.pad(mask, 4), scale)


def halftone(image: Image.Image, pitch: int, cell: int) -> Image.Image:
    """Return dots on a grid, each as large as the picture is dark there."""
    gray = np.asarray(image.convert("L").resize((image.width // pitch, image.height // pitch)))
    page = Image.new("RGB", (gray.shape[1] * cell, gray.shape[0] * cell), "white")
    pen = ImageDraw.Draw(page)
    for row, column in np.ndindex(gray.shape):
        radius = cell * 0.6 * math.sqrt(1 - gray[row, column] / 255)
        x, y = (column + 0.5) * cell, (row + 0.5) * cell
        if radius > 0.5:
            pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=(32, 48, 96))
    return page


def staves(systems: int, notes: int, side: int, seed: int) -> Image.Image:
    """Return systems of five lines with heads, stems and beams."""
    rng = np.random.default_rng(seed)
    page = Image.new("RGB", (side, side), "white")
    pen = ImageDraw.Draw(page)
    step = side / (systems * 14)
    for system in range(systems):
        top = (system * 14 + 4) * step
        for line in range(5):
            pen.line(
                (0.03 * side, top + line * step, 0.97 * side, top + line * step),
                fill="black",
                width=max(1, round(step / 6)),
            )
        for note in range(notes):
            x, y = side * (0.06 + 0.9 * note / notes), top + step * rng.integers(0, 9) / 2
            pen.ellipse((x - 0.7 * step, y - step / 2, x + 0.7 * step, y + step / 2), fill="black")
            pen.line(
                (x + 0.6 * step, y, x + 0.6 * step, y - 3 * step), fill="black", width=max(1, round(step / 6))
            )
    return page


def land(side: int, colors: int, rough: float, seed: int) -> Image.Image:
    """Return a map: heights of a random field in bands of color, with rivers."""
    rng = np.random.default_rng(seed)
    fx = np.fft.fftfreq(side)[:, None]
    power = np.hypot(fx, fx.T)
    power[0, 0] = 1.0
    field = np.fft.ifft2(np.fft.fft2(rng.standard_normal((side, side))) / power**rough).real
    band = np.digitize(field, np.quantile(field, np.linspace(0, 1, colors + 1)[1:-1]))
    image = Image.fromarray(INKS[band])
    pen = ImageDraw.Draw(image)
    for _ in range(6):
        path = np.cumsum(rng.normal(0, side / 40, (60, 2)), axis=0) + rng.random(2) * side
        pen.line([tuple(point) for point in path], fill=(20, 40, 120), width=max(1, side // 200))
    return image


def rings(count: int, side: int) -> Image.Image:
    y, x = np.mgrid[:side, :side] - side / 2
    away = np.hypot(x, y)
    return two_colored((away < side / 2.1) & (away * count / side % 1 < 0.5))


def open_art(name: str, body: str, box: tuple[float, float, float, float]) -> Callable[[], Image.Image]:
    def draw() -> Image.Image:

        scale = 512 / max(box[2:])
        page = (round(box[2] * scale), round(box[3] * scale))
        matrix = (scale, 0, 0, scale, -scale * box[0], -scale * box[1])
        text = openart.document(body, box, page, matrix, "#ffffff")

        png = resvg_py.svg_to_bytes(svg_string=text, width=page[0], skip_system_fonts=True)
        return Image.open(io.BytesIO(bytes(png))).convert("RGB")

    return draw
