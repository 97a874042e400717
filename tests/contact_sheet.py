"""Draw 12 artworks on one sheet: boundaries over the picture, the front, a section.

Run `python tests/contact_sheet.py OUT.png`. Three samples and nine open artworks (fetched from the npm
registry, see openart.py), each made with the defaults or its own recipe. The sheet is for eyes: it is looked
at before a change of the geometry is called done.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw

import openart
import reliefsmith as rs
from reliefsmith.documents.cutaway import cut
from reliefsmith.documents.proof.proof import thumbnail_png
from reliefsmith.model import FlatAreas

SAMPLES = Path(__file__).parents[1] / "samples"
CELL, SIDE, STRIP = (760, 430), 360, 40
COLUMNS = 3
OPEN_PIXELS = 900
SECTION_STRETCH = 3
"""A section is drawn this much higher than wide, or nobody would see its layers."""


def main(out: Path) -> None:
    """Make and draw all artworks."""
    with tempfile.TemporaryDirectory() as folder:
        pictures = [SAMPLES / name for name in ("kite.png", "heron.jpg", "lantern.png")]
        pictures += open_pictures(Path(folder), 12 - len(pictures))
        rows = -(-len(pictures) // COLUMNS)
        sheet = Image.new("RGB", (CELL[0] * COLUMNS, CELL[1] * rows), "white")
        for number, picture in enumerate(pictures):
            place = (number % COLUMNS * CELL[0], number // COLUMNS * CELL[1])
            sheet.paste(cell(picture), place)
            print(f"{number + 1:2} {picture.stem}", file=sys.stderr)
    sheet.save(out)


def open_pictures(folder: Path, count: int) -> list[Path]:
    """Render open artworks, spread over all that the benchmark uses, as pictures in a folder."""
    arts = openart.artworks()
    chosen = [arts[i] for i in np.linspace(0, len(arts) - 1, count).astype(int)]
    paths = []
    for number, art in enumerate(chosen):
        page, matrix = openart.placed(art, OPEN_PIXELS, 0.04)
        path = folder / f"{number:02}-{art.name.replace('/', '-').replace(':', '-')}.png"
        openart.drawn(art, page, matrix, None).save(path)
        paths.append(path)
    return paths


def cell(picture: Path) -> Image.Image:
    """Make one artwork and draw its three views with a line of facts."""
    own = picture.with_suffix(".toml")
    relief = rs.make(picture, rs.Recipe.load(own) if own.exists() else rs.Recipe())
    image = Image.new("RGB", CELL, "white")
    image.paste(overlay(picture, relief.areas), (10, 30))
    front = Image.open(io.BytesIO(thumbnail_png(relief.result, SIDE)))
    image.paste("#e8e8e4", (20 + SIDE, 30, 20 + 2 * SIDE, 30 + SIDE))
    image.paste(front, (20 + SIDE, 30), front)
    image.paste(section(relief), (10, 30 + SIDE))
    hole = relief.plan.hole
    hangs = f"{hole.origin}, {hole.hang_angle_deg:.1f} deg" if hole else "no hole"
    grave = sorted({item.code for item in relief.findings if item.severity != "note"})
    facts = f"{picture.stem}: {len(relief.parts)} parts, {hangs}; {', '.join(grave)}"
    ImageDraw.Draw(image).text((10, 8), facts, fill="black")
    return image


def overlay(picture: Path, areas: FlatAreas) -> Image.Image:
    """Draw the areas' boundaries over the picture, by the frame alone."""
    with Image.open(picture) as opened:
        source = opened.convert("RGBA")
    ground = Image.new("RGBA", source.size, "white")
    ground.alpha_composite(source)
    scale = SIDE / max(source.size)
    shown = ground.convert("RGB").resize(
        [round(side * scale) for side in source.size], Image.Resampling.LANCZOS
    )
    pen = ImageDraw.Draw(shown)
    for polygon in areas.polygons:
        for ring in shapely.get_rings(shapely.get_parts(polygon)):
            points = to_pixels(shapely.get_coordinates(ring), areas) * scale
            pen.line([tuple(point) for point in points], fill=(255, 0, 255), width=1)
    return shown


def to_pixels(points: np.ndarray, areas: FlatAreas) -> np.ndarray:
    """Return points in mm as pixels of the upright source picture."""
    frame = areas.frame
    turn = np.deg2rad(frame.turn_deg)
    x, y = points[:, 0] / frame.mm_per_px, -points[:, 1] / frame.mm_per_px
    turned = np.column_stack([np.cos(turn) * x - np.sin(turn) * y, np.sin(turn) * x + np.cos(turn) * y])
    return turned + frame.origin_px


def section(relief: rs.Relief) -> Image.Image:
    """Draw the section, stretched upwards, with the layers as lines."""
    made = cut(relief.stack)
    low, high = made.x_mm
    scale = min((CELL[0] - 20) / (high - low), STRIP / (made.top_mm * SECTION_STRETCH))
    image = Image.new("RGB", (CELL[0] - 20, STRIP), "white")
    pen = ImageDraw.Draw(image)
    up = scale * SECTION_STRETCH
    colors = dict(enumerate(dict.fromkeys(slab.color for slab in relief.stack.slabs)))
    for band in made.bands:
        top = [((x - low) * scale, STRIP - 1 - z * up) for x, z in band.profile]
        floor = STRIP - 1 - band.bottom_mm * up
        pen.polygon([*top, (top[-1][0], floor), (top[0][0], floor)], fill=colors[band.part])
    for z in relief.stack.layer_tops_mm:
        pen.line([(0, STRIP - 1 - z * up), ((high - low) * scale, STRIP - 1 - z * up)], fill=(128, 128, 128))
    return image


if __name__ == "__main__":
    main(Path(sys.argv[1]))
