"""Are lines of letters found, and from which size do they print? `python tests/benchmarks/lettering.py`.

A hundred badges (lettered.py), three times as many open artworks without lettering; the second half of both
is held out (`--held-out`). A line is found with half of its letters or more, a badge with all its lines. The
truth of the size is what repair does: the smallest enlargement from which on 95 % of what shows in the line's
color is as drawn (intersection by union). `--faces` prints the least x-height by kind of face, `--show FILE`
draws twelve badges with the lines that were found.
"""

from __future__ import annotations

import argparse
import io
import re
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[1]))

from lettered import FACES, badge, face

import reliefsmith as rs
from openart import (
    BRANDS,
    CIRCLES,
    FLAGS,
    FLUENT,
    FX,
    MAKI,
    NOTO,
    TEMAKI,
    OpenArt,
    Source,
    drawn,
    every_picture,
    placed,
)
from reliefsmith.model import FlatAreas, LetterLine
from reliefsmith.model.arrays import Color
from reliefsmith.plan.lettering.fineness import lettering
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.plan.strokes.partition import sheet_of
from reliefsmith.plan.strokes.repair import repaired_sheet
from reliefsmith.polygons import as_multi
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import MotifSettings, PrinterSettings, SizeSettings
from reliefsmith.walk.pipeline import Job

BADGES, HALF = 100, 50
ARTS = ((FLUENT, 110), (NOTO, 70), (FX, 40), (CIRCLES, 20), (FLAGS, 20), (TEMAKI, 20), (MAKI, 20))
LETTERED = re.compile(r"button|input|keycap|abc|newspaper|calendar")
"""Names of artworks that show words."""
GROUNDS = ("#ffffff", None, "#f4ecd8")
AS_DRAWN = 0.95
STEPS = (2.0, 1.7, 1.4, 1.18, 1.0, 0.85, 0.72, 0.6, 0.5)
"""Enlargements that are tried, by the one that was predicted."""
LIMITS = Limits.of(MotifSettings(), PrinterSettings())
BLACK: Color = (0, 0, 0)
NAVY: Color = (20, 40, 110)
WHITE: Color = (255, 255, 255)


@dataclass
class Row:
    """What one badge came to."""

    number: int
    letters: int = 0
    letters_found: int = 0
    lines: int = 0
    lines_found: int = 0
    wrong: int = 0
    ratios: list[float] = field(default_factory=list)


def areas_of(image: Image.Image, last: str = "hung") -> tuple[FlatAreas, Color]:
    """Return a picture's areas at the default size, and the color of its base."""
    out = io.BytesIO()
    image.save(out, "PNG")
    values = drain(Job(out.getvalue()).steps(rs.Recipe(), last))
    return values["marked"], values["hung"].base_color if last == "hung" else BLACK


def lines_in(areas: FlatAreas, base: Color) -> tuple[LetterLine, ...]:
    settings = {"motif": MotifSettings(), "printer": PrinterSettings(), "size": SizeSettings()}
    return lettering(areas, base, areas.size_mm, **settings).lines


def measured(number: int) -> Row:
    """Find the lines of one badge, and the sizes from which they print."""
    made = badge(number)
    areas, base = areas_of(made.image)
    found = lines_in(areas, base)
    places = _in_pixels(areas, [place for line in found for place in line.places_mm])
    explained = np.zeros(len(places), dtype=bool)
    row = Row(number, lines=len(made.lines))
    for line in made.lines:
        own = 0
        for x, y, radius in line.letters:
            near = np.abs(places - (x, y)).max(axis=1) <= radius
            own += bool(near.any())
            explained |= near
        row.letters += len(line.letters)
        row.letters_found += own
        row.lines_found += own >= len(line.letters) / 2
    row.wrong = int((~explained).sum())
    row.ratios = [line.needs / true_needs(areas, base, line) for line in found if line.shown]
    return row


def _in_pixels(areas: FlatAreas, places: list[tuple[float, float]]) -> np.ndarray:
    frame = areas.frame
    cosine, sine = np.cos(np.radians(frame.turn_deg)), np.sin(np.radians(frame.turn_deg))
    x, y = np.array(places or np.empty((0, 2))).T * ([1], [-1]) / frame.mm_per_px
    return np.column_stack((cosine * x - sine * y, sine * x + cosine * y)) + frame.origin_px


def true_needs(areas: FlatAreas, base: Color, line: LetterLine) -> float:
    """Return the smallest enlargement from which on repair leaves a line as drawn."""
    before, above = 0.0, STEPS[0]
    for step in STEPS:
        kept = as_drawn(areas, base, line, line.needs * step)
        if kept < AS_DRAWN:
            if step == STEPS[0]:
                return line.needs * step
            share = (AS_DRAWN - kept) / (before - kept)
            return line.needs * (step + (above - step) * share)
        before, above = kept, step
    return line.needs * STEPS[-1]


def as_drawn(areas: FlatAreas, base: Color, line: LetterLine, times: float) -> float:
    """Return how much of what shows in a line's color stays where it is if the artwork is so much larger."""
    zone, place = line.outline.buffer(1.0), line.outline.buffer(0.2)
    colors = [tuple(color) for color in areas.colors.tolist()]
    drawing = {
        color: as_multi(shapely.intersection(polygon, zone))
        for color, polygon in zip(colors, areas.polygons, strict=True)
        if color != base
    }
    drawing = {color: shape for color, shape in drawing.items() if not shape.is_empty}
    mended = dict(
        zip(
            drawing,
            repaired_sheet(sheet_of(list(drawing.values())), LIMITS.scaled(1 / times)).motifs,
            strict=True,
        )
    )
    if line.color in drawing:
        shown = [shape[line.color].intersection(place) for shape in (drawing, mended)]
    else:
        shown = [place.difference(shapely.union_all(list(shape.values()))) for shape in (drawing, mended)]
    return shown[0].intersection(shown[1]).area / shown[0].union(shown[1]).area


def arts() -> list[tuple[Source, str]]:
    """Return open artworks by lot, always the same, none of which is a word by its name."""
    chosen: list[tuple[Source, str]] = []
    for source, count in ARTS:
        names = [n for n in every_picture(source) if not BRANDS.search(n) and not LETTERED.search(n)]
        order = np.random.default_rng((7, len(chosen))).permutation(len(names))[:count]
        chosen += [(source, names[number]) for number in order]
    return chosen


def flagged(number: int) -> str:
    """Return an artwork's name if a line of letters is found in it."""
    source, name = arts()[number]
    body, box = every_picture(source)[name]
    art = OpenArt(name, body, box, (), ())
    page, matrix = placed(art, 700, 0.05)
    try:
        areas, base = areas_of(drawn(art, page, matrix, GROUNDS[number % 3]), "marked")
    except rs.ReliefsmithError:
        return ""
    return name if lines_in(areas, base) else ""


def face_rows() -> Iterator[str]:
    """Give by kind of face the least x-height in mm, of raised letters and of those that show the base."""
    for kind, faces in FACES.items():
        heights = np.array([_least_x_heights(*one) for one in faces])
        ranges = [
            f"{low:.1f}" if high - low < 0.1 else f"{low:.1f}-{high:.1f}"
            for low, high in zip(heights.min(axis=0), heights.max(axis=0), strict=True)
        ]
        yield f"| {kind} | {len(faces)} | {' | '.join(ranges)} |"


def _least_x_heights(package: str, weight: int, size: int = 200) -> tuple[float, float]:
    """Set a line large, take its areas, and find how small repair still leaves it as drawn."""
    font, text = face(package, weight, size), "heron lanterns"
    left, top, right, bottom = font.getbbox(text)
    image = Image.new("RGB", (round(right - left) + 80, round(bottom - top) + 80), "white")
    ImageDraw.Draw(image).text((40 - left, 40 - top), text, fill="black", font=font)
    areas, _ = areas_of(image, "marked")
    x_height = -font.getbbox("x", anchor="ls")[1] * areas.frame.mm_per_px
    letters = areas.polygons[areas.art[0]]
    plate = as_multi(shapely.box(*letters.bounds).buffer(5).difference(letters))
    colors = np.array([BLACK, NAVY], np.uint8)
    raised = replace(areas, polygons=(letters,), colors=colors[:1], enclosed=None)
    shows = replace(areas, polygons=(letters, plate), colors=colors, enclosed=None)
    found = [
        (item, base, next(line for line in lines_in(item, base) if line.color == BLACK))
        for item, base in ((raised, WHITE), (shows, BLACK))
    ]
    least_raised, least_shown = (x_height * true_needs(*one) for one in found)
    return least_raised, least_shown


def show(path: Path, numbers: range) -> None:
    """Draw badges with the outlines of the lines that were found, green where they print and red else."""
    sheet = Image.new("RGB", (4 * 460, -(-len(numbers) // 4) * 400), (225, 225, 225))
    for order, number in enumerate(numbers):
        image = badge(number).image.convert("RGBA")
        areas, base = areas_of(image)
        pen = ImageDraw.Draw(image)
        for line in lines_in(areas, base):
            ring = _in_pixels(areas, list(line.outline.exterior.coords))
            pen.line(
                [tuple(p) for p in ring.tolist()],
                fill=(20, 170, 60) if line.prints else (230, 30, 30),
                width=4,
            )
        image.thumbnail((450, 390))
        sheet.paste(image, (order % 4 * 460 + 5, order // 4 * 400 + 5), image)
    sheet.save(path)


def main() -> None:
    """Print what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--held-out", action="store_true", help="measure the half that is not looked at")
    parser.add_argument("--faces", action="store_true", help="print the least x-height by kind of face")
    parser.add_argument("--show", type=Path, help="draw twelve badges with the found lines")
    parser.add_argument("--jobs", type=int, default=2)
    words = parser.parse_args()
    if words.faces:
        for row in face_rows():
            print(row, flush=True)
        return
    first = HALF if words.held_out else 0
    if words.show:
        show(words.show, range(first, first + 12))
        return
    half = sum(count for _, count in ARTS) // 2
    chosen = range(half, 2 * half) if words.held_out else range(half)
    with ProcessPoolExecutor(words.jobs) as pool:
        names = [name for name in pool.map(flagged, chosen) if name]
        print(
            f"artworks without lettering: {len(names)} of {len(chosen)} called lettering {names}", flush=True
        )
        rows = []
        for row in pool.map(measured, range(first, first + HALF)):
            rows.append(row)
            print(row, flush=True)
    letters, found = (sum(getattr(row, name) for row in rows) for name in ("letters", "letters_found"))
    whole = sum(row.lines_found == row.lines for row in rows)
    ratios = np.array([ratio for row in rows for ratio in row.ratios])
    print(
        f"badges {whole} of {len(rows)}, letters {found} of {letters}, wrong {sum(row.wrong for row in rows)}"
    )
    near = np.mean(np.abs(ratios - 1) <= 0.15)
    print(f"size within 15 %: {near:.0%} of {len(ratios)} lines, median {np.median(ratios):.2f}")


if __name__ == "__main__":
    main()
