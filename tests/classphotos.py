"""Photographs of a class's sheets, made: drawn on, at a slant, under a hand's shadow, blurred, as JPEG."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import resvg_py
from PIL import Image, ImageDraw

from reliefsmith.documents.class_sheets import Child, sheet_svg
from reliefsmith.formats.classlayout import FIELD, FRAME_MM
from sheetphotos import PAGES_MM, photograph
from tabletops import PENS

PX_PER_MM = 8
INKS = PENS


@dataclass
class SheetPhoto:
    """A photograph of a sheet, its number, and where places of its frame (n, 2) mm lie in it."""

    image: Image.Image
    number: int
    camera: object
    page_mm: tuple[float, float]
    about: dict

    def pixels(self, mm: np.ndarray) -> np.ndarray:
        shares = (mm + frame_at(self.page_mm)) / np.array(self.page_mm)
        flat = shares.reshape(-1, 2)
        return self.camera.project(flat[:, 0], flat[:, 1], paper=True).reshape(mm.shape)


def frame_at(page_mm: tuple[float, float]) -> np.ndarray:
    return np.array([(page_mm[0] - FRAME_MM[0]) / 2, 14.0])


def sheet_photo(
    seed: int, *, number: int | None = None, name: str = "", strokes: int = 6, **fixed
) -> SheetPhoto:
    """Make one; what is not fixed by name is drawn by lot."""
    lot = np.random.default_rng([7, seed])
    number = int(lot.integers(1, 4095)) if number is None else number
    page = str(lot.choice(["A4", "letter"]))
    usual = {
        "tilt": lot.uniform(0, 40),
        "lens": lot.uniform(-0.02, 0.02),
        "bulge": 0.0,
        "megapixels": float(lot.choice([3, 3, 3, 5, 8, 12])),
        "fill": lot.uniform(0.7, 0.97),
    }
    drawn = drawn_page(lot, PAGES_MM[page], number, name, strokes)
    photo = photograph(seed, page=page, drawn=drawn, **{**usual, **fixed})
    return SheetPhoto(photo.image, number, photo.camera, PAGES_MM[page], photo.about)


def drawn_page(lot, page_mm, number: int, name: str, strokes: int) -> np.ndarray:
    """Draw the printed page and what a child did on it; some strokes cross the field's line, few a mark."""
    page = printed_page(page_mm, number, name)
    draw = ImageDraw.Draw(page)
    offset = frame_at(page_mm)
    for at in range(strokes):
        _scribble(draw, lot, offset, crossing=at == 0)
    return np.asarray(page, dtype=np.float32) * np.float32(lot.uniform(0.92, 0.99))


def printed_page(page_mm, number: int, name: str = "") -> Image.Image:
    """Return the page as it comes out of the printer, `PX_PER_MM`."""
    width, height = (round(side * PX_PER_MM) for side in page_mm)
    page = Image.new("RGB", (width, height), "white")
    drawing = str(sheet_svg(Child(number, name)))
    svg = resvg_py.svg_to_bytes(svg_string=drawing, dpi=96, zoom=PX_PER_MM * 25.4 / 96)
    frame = Image.open(io.BytesIO(bytes(svg))).convert("RGBA")
    frame = frame.resize([round(side * PX_PER_MM) for side in FRAME_MM])
    at = tuple(int(value) for value in np.round(frame_at(page_mm) * PX_PER_MM))
    page.paste(frame, at, frame)
    return page


def _scribble(draw: ImageDraw.ImageDraw, lot, offset: np.ndarray, *, crossing: bool) -> None:
    """Draw one wobbly outline, filled or not, within the field or over its line."""
    left, top, right, low = FIELD
    radius = lot.uniform(12, 45)
    room = -0.3 * radius if crossing else 1.3 * radius
    center = offset + np.array([lot.uniform(left + room, right - room), lot.uniform(top + room, low - room)])
    angles = np.linspace(0, 2 * np.pi, 90)
    wave = 1 + sum(lot.uniform(0, 0.2) * np.cos(n * angles + lot.uniform(0, 7)) for n in (2, 3, 5))
    points = center + 0.8 * radius * wave[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    points = [tuple(point) for point in points * PX_PER_MM]
    if lot.random() < 0.5:
        draw.polygon(points, fill=INKS[lot.integers(len(INKS))])
    wide = round(lot.uniform(1.0, 4.0) * PX_PER_MM)
    draw.line(points, fill=INKS[lot.integers(len(INKS))], width=wide, joint="curve")


def field_error_mm(photo: SheetPhoto, place) -> float:
    """Return how far, at worst, a place of the field is from where it was taken to be, in mm on the sheet."""
    left, top, right, low = FIELD
    x, y = np.meshgrid(np.linspace(left + 2, right - 2, 13), np.linspace(top + 2, low - 2, 13))
    mm = np.stack([x, y], axis=-1)
    off = place.pixels(mm) - photo.pixels(mm)
    near = 0.01
    steps = near * np.eye(2)
    jacobian = np.stack([(photo.pixels(mm + step) - photo.pixels(mm)) / near for step in steps], axis=-1)
    return float(np.linalg.norm(np.linalg.solve(jacobian, off[..., None])[..., 0], axis=-1).max())
