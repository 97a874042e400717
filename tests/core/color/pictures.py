"""Pictures for the tests, drawn here with known colors; edges are anti-aliased by averaging 8 x 8 samples."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image, ImageDraw

from reliefsmith.color import separate
from reliefsmith.colorimetry import ciede2000, parse_hex, srgb_to_lab
from reliefsmith.model.artwork import Artwork, Separation
from reliefsmith.recipe.sections import BackgroundSettings, ColorSettings

RED, BLUE, YELLOW, INK, WHITE = "#c81e28", "#1e5fd0", "#f7c923", "#14213d", "#ffffff"

FINE = 8


class Sheet:
    """A sheet to draw on in pixels; what is drawn comes out anti-aliased."""

    def __init__(self, size: int = 400, ground: str | None = "#ffffff") -> None:
        self.size = size
        self.clear = ground is None
        color = (0, 0, 0, 0) if ground is None else (*parse_hex(ground), 255)
        self.image = Image.new("RGBA", (size * FINE, size * FINE), color)
        self.draw = ImageDraw.Draw(self.image)

    def box(self, x0: float, y0: float, x1: float, y1: float, ink: str) -> Sheet:
        at = [round(v * FINE) for v in (x0, y0, x1, y1)]
        self.draw.rectangle((at[0], at[1], at[2] - 1, at[3] - 1), fill=(*parse_hex(ink), 255))
        return self

    def disc(self, x: float, y: float, radius: float, ink: str) -> Sheet:
        at = [round(v * FINE) for v in (x - radius, y - radius, x + radius, y + radius)]
        self.draw.ellipse((at[0], at[1], at[2] - 1, at[3] - 1), fill=(*parse_hex(ink), 255))
        return self

    def line(self, points: list[tuple[float, float]], width: float, ink: str) -> Sheet:
        self.draw.line([(x * FINE, y * FINE) for x, y in points], (*parse_hex(ink), 255), round(width * FINE))
        return self

    def rgba(self) -> np.ndarray:
        return np.asarray(self.image.reduce(FINE))

    def artwork(self, quality: int = 0, rounds: int = 1) -> Artwork:
        """Return the drawing as read; with a quality, saved as JPEG that many times before."""
        pixels = self.rgba()
        shape = pixels.shape[:2]
        rgb, alpha = pixels[..., :3].copy(), pixels[..., 3].astype(np.float32) / np.float32(255)
        if quality:
            image = Image.fromarray(rgb)
            for _ in range(rounds):
                buffer = io.BytesIO()
                image.save(buffer, "JPEG", quality=quality, subsampling=2)
                image = Image.open(buffer).convert("RGB")
            rgb = np.asarray(image)
        if not self.clear:
            alpha = np.ones(shape, np.float32)
        return Artwork(rgb, alpha, (shape[1], shape[0]), 1.0, self.clear, quality > 0)


def separated(artwork: Artwork, *, background: dict | None = None, **colors: object) -> Separation:
    result = separate(
        artwork, background=BackgroundSettings(**(background or {})), flat_colors=ColorSettings(**colors)
    )
    assert_separation(result, artwork)
    return result


def assert_separation(result: Separation, artwork: Artwork) -> None:
    """Check what holds for every separation."""
    assert result.labels.shape == artwork.rgb.shape[:2]
    assert result.labels.dtype == np.uint8
    assert result.colors.dtype == np.uint8
    counts = np.bincount(result.labels.ravel(), minlength=len(result.colors) + 1)
    assert len(counts) == len(result.colors) + 1
    assert (counts[1:] > 0).all()
    assert result.enclosed in (None, 0)
    art = counts[1:] if result.enclosed is None else counts[2:]
    assert (np.diff(art) <= 0).all()
    np.testing.assert_allclose(result.shares, counts[1:] / counts[1:].sum())
    if artwork.has_alpha:
        assert result.background is None
        assert result.enclosed is None


def assert_colors(result: Separation, inks: list[str], tolerance: float = 0.0) -> None:
    """Check that exactly these colors of the art were found, in any order, within a CIEDE2000 tolerance."""
    art = result.colors if result.enclosed is None else result.colors[1:]
    assert len(art) == len(inks)
    want = srgb_to_lab(np.array([parse_hex(ink) for ink in inks], np.uint8))
    gaps = ciede2000(want[:, None], srgb_to_lab(art)[None])
    assert sorted(gaps.argmin(axis=1)) == list(range(len(inks)))
    assert gaps.min(axis=1).max() <= tolerance


def is_ground(result: Separation) -> np.ndarray:
    """Tell of each pixel whether it is ground, enclosed or not."""
    return (result.labels == 0) | (result.labels == (-1 if result.enclosed is None else result.enclosed + 1))


def label_of(result: Separation, ink: str) -> int:
    lab = srgb_to_lab(np.array(parse_hex(ink), np.uint8))
    return int(np.argmin(ciede2000(srgb_to_lab(result.colors), lab))) + 1


def kite(ground: str | None = "#ffffff", size: int = 400) -> Sheet:
    """A kite of four colors with an opening of the ground in its middle."""
    sheet = Sheet(size, ground)
    s = size / 400
    sheet.box(60 * s, 60 * s, 200 * s, 200 * s, RED).box(200 * s, 60 * s, 340 * s, 200 * s, BLUE)
    sheet.box(60 * s, 200 * s, 340 * s, 340 * s, YELLOW).disc(130 * s, 270 * s, 40 * s, INK)
    if ground is not None:
        sheet.disc(270 * s, 270 * s, 30 * s, ground)
    return sheet
