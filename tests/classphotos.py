"""Photographs of a class's sheets, made: drawn on, at a slant, under a hand's shadow, blurred, as JPEG."""

from __future__ import annotations

import io
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import cv2
import numpy as np
import resvg_py
from PIL import Image, ImageChops, ImageDraw, ImageOps

from reliefsmith.artwork.marked.placing import Place
from reliefsmith.documents.class_sheets import Child, sheet_svg
from reliefsmith.formats.classlayout import CELL_MM, FIELD, FRAME_MM, MARK_MM, MARKS, RINGS_MM, cell_at
from reliefsmith.formats.sheetnumber import MOST_NUMBER, cells_of
from sheetphotos import PAGES_MM, photograph
from tabletops import PENS

PX_PER_MM = 8
INKS = PENS
FONTS = files("reliefsmith_data") / "fonts"


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
    seed: int,
    *,
    number: int | None = None,
    name: str = "",
    strokes: int = 6,
    art: Image.Image | None = None,
    **fixed,
) -> SheetPhoto:
    """Make one, with `art` (RGBA) and strokes drawn on it; what is not fixed by name is drawn by lot."""
    lot = np.random.default_rng([7, seed])
    number = int(lot.integers(1, 4095)) if number is None else number
    page = str(lot.choice(["A4", "letter"]))
    usual = {
        "tilt": lot.uniform(0, 40),
        "lens": lot.uniform(-0.02, 0.02),
        "bulge": 0.0,
        "pen": False,
        "megapixels": float(lot.choice([3, 3, 3, 5, 8, 12])),
        "fill": lot.uniform(0.7, 0.97),
    }
    drawn = drawn_page(lot, PAGES_MM[page], printed_page(PAGES_MM[page], number, name), strokes, art)
    photo = photograph(seed, page=page, drawn=drawn, **{**usual, **fixed})
    return SheetPhoto(photo.image, number, photo.camera, PAGES_MM[page], photo.about)


def drawn_page(lot, page_mm, printed: Image.Image, strokes: int, art: Image.Image | None) -> np.ndarray:
    """Draw the printed page and what a child did on it; some strokes cross the field's line, few a mark."""
    pens = Image.new("RGB", printed.size, "white")
    draw = ImageDraw.Draw(pens)
    offset = frame_at(page_mm)
    for at in range(strokes):
        _scribble(draw, lot, offset, crossing=at == 0)
    if art is not None:
        left, top, right, low = FIELD
        scale = 0.85 * PX_PER_MM * min((right - left) / art.width, (low - top) / art.height)
        large = art.resize([round(side * scale) for side in art.size], Image.Resampling.LANCZOS)
        middle = (offset + np.array([left + right, top + low]) / 2) * PX_PER_MM
        pens.paste(
            large, [round(float(at) - side / 2) for at, side in zip(middle, large.size, strict=True)], large
        )
    inked = ImageChops.multiply(printed, pens)  # ink lets through what is below it
    return np.asarray(inked, dtype=np.float32) * np.float32(lot.uniform(0.92, 0.99))


def printed_page(page_mm, number: int, name: str = "") -> Image.Image:
    """Return the page as it comes out of the printer, `PX_PER_MM`."""
    width, height = (round(side * PX_PER_MM) for side in page_mm)
    page = Image.new("RGB", (width, height), "white")
    drawing = str(sheet_svg(Child(number, name)))
    svg = resvg_py.svg_to_bytes(
        svg_string=drawing,
        dpi=96,
        zoom=PX_PER_MM * 25.4 / 96,
        skip_system_fonts=True,
        font_files=[str(FONTS / "Lato-Bold.ttf"), str(FONTS / "Lato-Regular.ttf")],
        font_family="Lato",
    )
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


def rough_photo(lot) -> tuple[np.ndarray, Place, int]:
    """Make a small, bad photograph of a bare sheet, its green channel, where the sheet lies, and its number.

    Strokes, a thumb and shadows lie over marks and cells as often as not; much of it is past reading.
    """
    number = int(lot.integers(1, MOST_NUMBER + 1))
    scale = 3.0
    page = Image.new("L", [round(side * scale) + 1 for side in FRAME_MM], int(lot.integers(200, 256)))
    draw = ImageDraw.Draw(page)
    ink = int(lot.integers(0, 70))
    for at in MARKS:
        for inset, fill in zip(RINGS_MM, (ink, 240, ink), strict=True):
            _box(draw, (at[0] + inset, at[1] + inset), MARK_MM - 2 * inset, scale, fill=fill)
    draw.rectangle([side * scale for side in FIELD], outline=ink, width=2)
    for row, cells in enumerate(cells_of(number)):
        for column, dark in enumerate(cells):
            _box(draw, cell_at(row, column), CELL_MM, scale, fill=ink if dark else None, outline=ink)
    for _ in range(lot.integers(0, 5)):
        ends = [lot.uniform(0, 180), lot.uniform(215, 250), lot.uniform(0, 180), lot.uniform(215, 250)]
        wide = round(lot.uniform(1, 9) * scale)
        draw.line([side * scale for side in ends], fill=int(lot.integers(0, 256)), width=wide)
    if lot.random() < 0.3:
        x, y, radius = scale * lot.uniform(0, 180), scale * lot.uniform(225, 255), scale * lot.uniform(4, 14)
        draw.ellipse([x - radius, y - radius, x + radius, y + radius], fill=int(lot.integers(90, 200)))
    size = (round(300 * lot.uniform(0.8, 1.6)), round(400 * lot.uniform(0.8, 1.6)))
    away = lot.uniform(0.02, 0.1, (4, 2)) + lot.uniform(0, 0.14, (4, 2))
    corners = (
        np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) + away * [[1, 1], [-1, 1], [-1, -1], [1, -1]]
    ) * size
    turned = np.roll(corners, lot.integers(4), axis=0).astype(np.float32)
    frame = np.array([[0, 0], [180, 0], [180, 250], [0, 250]], dtype=np.float32)
    seen = cv2.getPerspectiveTransform(frame, turned)
    paper = np.diag([1 / scale, 1 / scale, 1])
    table = int(lot.integers(60, 256))
    grey = cv2.warpPerspective(
        np.asarray(page), seen @ paper, size, flags=cv2.INTER_AREA, borderValue=table
    ).astype(np.float32)
    x = np.linspace(0, 1, size[0])[None] * lot.uniform(-1, 1) + np.linspace(0, 1, size[1])[:, None]
    grey *= 1 - lot.uniform(0, 0.6) / (1 + np.exp(-(x - lot.uniform(0, 1)) * lot.uniform(5, 300)))
    grey = cv2.GaussianBlur(grey, (0, 0), lot.uniform(0.3, 1.8))
    grey += lot.normal(0, lot.uniform(0.5, 8), grey.shape)
    kept = io.BytesIO()
    Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8)).save(
        kept, "JPEG", quality=int(lot.integers(20, 90))
    )
    middle = np.array(size) / 2
    place = Place(seen / seen[2, 2], middle, float(np.hypot(*middle)), 0.0, np.zeros(2))
    return np.asarray(Image.open(kept)), place, number


def _box(draw: ImageDraw.ImageDraw, at: tuple[float, float], side: float, scale: float, **drawn) -> None:
    left, top = at[0] * scale, at[1] * scale
    draw.rectangle([left, top, left + side * scale, top + side * scale], **drawn)


def write_samples(folder: Path) -> None:
    """Write the photographs of the guide's class: sheets 1, 2 and 4 of its list, with art of the samples."""
    kite = Image.open(folder.parent / "kite.png").convert("RGBA")
    lantern = Image.open(folder.parent / "lantern.png").convert("RGB")
    for corner in ((0, 0), (lantern.width - 1, lantern.height - 1)):
        ImageDraw.floodfill(lantern, corner, (255, 255, 255), thresh=30)
    for at, (seed, number, art) in enumerate(
        ((31, 4, lantern), (33, 1, kite), (38, 2, ImageOps.mirror(kite)))
    ):
        how = {"megapixels": 1.5, "strokes": 0, "table": "wood", "blur": 0.6, "noise": 1.5}
        photo = sheet_photo(seed, number=number, art=art.convert("RGBA"), **how)
        photo.image.save(folder / f"photo-{at + 1}.jpg", quality=70)


if __name__ == "__main__":
    write_samples(Path(__file__).parents[1] / "samples" / "class")
