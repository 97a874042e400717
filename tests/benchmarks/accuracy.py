"""How well areas match the artist's own shapes: `python tests/benchmarks/accuracy.py`.

Renders open artworks as people send pictures, runs the pipeline's areas with neither palette nor count, and
compares them with the exact polygons through the frame, without any fitting. A failed artwork counts as 0.
Left out are only artworks with a color under dE00 5 from the paper of a variant.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

sys.path.insert(0, str(Path(__file__).parents[1]))

from openart import OpenArt, artworks, drawn, placed, truth_in
from reliefsmith import ReliefsmithError
from reliefsmith.chroma import ciede2000, srgb_to_lab
from reliefsmith.model import FlatAreas
from reliefsmith.pipeline import find_areas

MARGIN, ALPHA_MARGIN = 0.06, 0.03
PAPERS = ("#ffffff", "#b8b8b8")
"""White, and grey for artworks with a white of their own."""


@dataclass(frozen=True)
class Variant:
    """A way pictures come, and what must be reached (medians; share of right counts)."""

    name: str
    longest: int
    right: float
    mean_iou: float
    worst_iou: float
    error_px: float
    color_limit: float
    save: Callable[[OpenArt, Path, int], tuple[Path, tuple] | None]


@dataclass
class Measured:
    """What one artwork reached."""

    name: str
    right: bool = False
    mean_iou: float = 0.0
    worst_iou: float = 0.0
    error_px: float = float("inf")
    valid: bool = False
    gap_px: float = 0.0
    overlap_px: float = 0.0
    found: int = 0
    wanted: int = 0
    vertices: int = 0
    seconds: float = 0.0
    failure: str = ""
    result: list = field(default_factory=list, repr=False)


def paper_for(art: OpenArt, papers: tuple[str, ...] = PAPERS) -> str | None:
    """Return the first paper that no color of the art is near to, None where there is none."""
    for paper in papers:
        rgb = np.array([int(paper[i : i + 2], 16) for i in (1, 3, 5)], dtype=np.uint8)
        apart = ciede2000(srgb_to_lab(np.array(art.colors, dtype=np.uint8)), srgb_to_lab(rgb[None, :]))
        if apart.min() >= 5.0:
            return paper
    return None


def save_alpha(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple]:
    page, matrix = placed(art, longest, ALPHA_MARGIN)
    drawn(art, page, matrix, None).save(folder / "art.png")
    return folder / "art.png", matrix


def save_paper(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    paper = paper_for(art)
    if paper is None:
        return None
    page, matrix = placed(art, longest, MARGIN)
    drawn(art, page, matrix, paper).save(folder / "art.png")
    return folder / "art.png", matrix


def save_jpeg(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    paper = paper_for(art)
    if paper is None:
        return None
    page, matrix = placed(art, longest, MARGIN)
    drawn(art, page, matrix, paper).save(folder / "art.jpg", quality=60, subsampling=2)
    return folder / "art.jpg", matrix


def save_photo(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    """Photograph on white paper: vignetting, a soft shadow edge, blur, noise, turned 1 to 4 degrees."""
    if paper_for(art, PAPERS[:1]) is None:
        return None
    random = np.random.default_rng(sum(art.name.encode()))
    turn = float(random.uniform(1, 4) * random.choice((-1, 1)))
    page, matrix = placed(art, longest, 0.12, turn)
    picture = np.asarray(drawn(art, page, matrix, "#ffffff"), dtype=np.float32)
    y, x = np.mgrid[0 : page[1], 0 : page[0]].astype(np.float32) / longest - 0.5
    angle = random.uniform(0, 2 * math.pi)
    radius = np.hypot(x - random.uniform(-0.1, 0.1), y - random.uniform(-0.1, 0.1))
    light = 0.93 + 0.10 * (x * math.cos(angle) + y * math.sin(angle))
    light *= 1.0 - 0.45 * radius**2 - 0.35 * radius**4
    edge = (x * math.cos(angle + 1.1) + y * math.sin(angle + 1.1) - random.uniform(-0.2, 0.2)) / 0.05
    light *= 1.0 - 0.10 / (1.0 + np.exp(np.clip(edge, -30, 30)))
    tint = np.array([1.0, 0.985, 0.95], dtype=np.float32)
    for channel in range(3):
        picture[..., channel] = gaussian_filter(picture[..., channel] * light * tint[channel], 1.0)
    picture += random.normal(0, 2.0, picture.shape).astype(np.float32)
    image = Image.fromarray(np.clip(np.rint(picture), 0, 255).astype(np.uint8))
    image.save(folder / "art.jpg", quality=92)
    return folder / "art.jpg", matrix


VARIANTS = (
    Variant("alpha", 1024, 0.95, 0.998, 0.995, 0.06, 3.0, save_alpha),
    Variant("paper", 900, 0.92, 0.998, 0.995, 0.06, 3.0, save_paper),
    Variant("jpeg", 1500, 0.90, 0.996, 0.992, 0.13, 3.0, save_jpeg),
    Variant("photo", 3000, 0.85, 0.99, 0.98, 0.30, 6.0, save_photo),
    Variant("tiny", 200, 0.90, 0.985, 0.97, 0.10, 3.0, save_paper),
)


def in_pixels(areas: FlatAreas) -> list[shapely.MultiPolygon]:
    """Return the areas in pixels of the source picture, by the frame alone."""
    frame = areas.frame
    c, s = math.cos(math.radians(frame.turn_deg)), math.sin(math.radians(frame.turn_deg))

    def back(points: np.ndarray) -> np.ndarray:
        x, y = points[:, 0] / frame.mm_per_px, -points[:, 1] / frame.mm_per_px
        return np.stack((frame.origin_px[0] + c * x - s * y, frame.origin_px[1] + s * x + c * y), axis=1)

    return [shapely.transform(polygon, back) for polygon in areas.polygons]


def measure(art: OpenArt, variant: Variant, path: Path, matrix: tuple) -> Measured:
    """Run the areas of one picture and compare them with the truth."""
    measured = Measured(art.name, wanted=len(art.colors))
    begin = time.perf_counter()
    try:
        areas = find_areas(path)
    except ReliefsmithError as error:
        measured.failure = str(error)
        return measured
    measured.seconds = time.perf_counter() - begin
    truth, found = truth_in(art, matrix), in_pixels(areas)
    match = matched(art.colors, areas.colors, variant.color_limit)
    measured.found = len(found)
    measured.right = len(found) == len(truth) and all(index is not None for index in match)
    nearest = matched(art.colors, areas.colors, 25.0)
    pairs = [(want, found[at] if at is not None else None) for want, at in zip(truth, nearest, strict=True)]
    scores = [iou(want, got) if got is not None else 0.0 for want, got in pairs]
    measured.mean_iou, measured.worst_iou = float(np.mean(scores)), float(min(scores))
    both = [(want, got) for want, got in pairs if got is not None]
    measured.error_px = (
        float(np.mean([boundary_error(want, got) for want, got in both])) if both else math.inf
    )
    every = np.array(areas.polygons, dtype=object)
    measured.valid = bool(shapely.is_valid(every).all() and shapely.coverage_is_valid(every))
    covered, wanted = shapely.union_all(found), shapely.union_all(truth)
    measured.overlap_px = float(sum(shapely.area(found)) - covered.area)
    measured.gap_px = float(wanted.buffer(-0.5).difference(covered).area)
    measured.vertices = int(shapely.get_num_coordinates(every).sum())
    measured.result = [truth, found, areas.colors]
    return measured


def matched(wanted: tuple, found: np.ndarray, limit: float) -> list[int | None]:
    """Return for each wanted color the found one nearest to it, none twice, none beyond the limit."""
    apart = ciede2000(srgb_to_lab(np.array(wanted, dtype=np.uint8))[:, None], srgb_to_lab(found)[None, :])
    result: list[int | None] = [None] * len(wanted)
    for at in np.argsort(apart, axis=None, kind="stable"):
        row, column = divmod(int(at), len(found))
        if apart[row, column] < limit and result[row] is None and column not in result:
            result[row] = column
    return result


def iou(first: shapely.Geometry, second: shapely.Geometry) -> float:
    shared = shapely.intersection(first, second).area
    return float(shared / (first.area + second.area - shared))


def boundary_error(first: shapely.Geometry, second: shapely.Geometry) -> float:
    """Return the mean distance of each boundary from the other, both ways, sampled each half pixel."""
    return (_one_way(first, second) + _one_way(second, first)) / 2


def _one_way(of: shapely.Geometry, to: shapely.Geometry) -> float:
    rings = shapely.get_rings(shapely.get_parts(of))
    points = shapely.get_coordinates(shapely.segmentize(rings, 0.5))
    lines = shapely.get_rings(shapely.get_parts(to))
    a = np.concatenate([shapely.get_coordinates(ring)[:-1] for ring in lines])
    b = np.concatenate([shapely.get_coordinates(ring)[1:] for ring in lines])
    tree = shapely.STRtree(shapely.linestrings(np.stack((a, b), axis=1)))
    _, distance = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    return float(distance.mean())


def overlay(measured: Measured, picture: Path, target: Path, zoom: float = 1.0) -> None:
    """Draw truth (thin, green) and result (red) on the picture."""
    image = Image.open(picture).convert("RGBA")
    page = Image.new("RGBA", image.size, "#d8e0ff")
    page.alpha_composite(image)
    page = page.convert("RGB").resize(
        (round(image.width * zoom), round(image.height * zoom)), Image.Resampling.NEAREST
    )
    pen = ImageDraw.Draw(page)
    for shapes, color in ((measured.result[0], "#00a000"), (measured.result[1], "#ff0000")):
        for ring in shapely.get_rings(shapely.get_parts(np.array(shapes, dtype=object))):
            pen.line([tuple(point) for point in shapely.get_coordinates(ring) * zoom], fill=color)
    page.save(target)


def run(variant: Variant, arts: list[OpenArt], overlays: Path | None, worst: int) -> list[Measured]:
    """Measure all artworks on one variant; draw the worst ones."""
    results = []
    with tempfile.TemporaryDirectory() as work:
        for number, art in enumerate(arts):
            folder = Path(work, str(number))
            folder.mkdir()
            saved = variant.save(art, folder, variant.longest)
            if saved is not None:
                results.append((measure(art, variant, *saved), saved[0]))
        if overlays is not None:
            overlays.mkdir(parents=True, exist_ok=True)
            for measured, picture in sorted(results, key=lambda item: item[0].worst_iou)[:worst]:
                if measured.result:
                    name = f"{variant.name}-{measured.name.replace('/', '_')}.png"
                    overlay(measured, picture, overlays / name, max(1.0, 1200 / variant.longest))
    return [measured for measured, _ in results]


def row(variant: Variant, results: list[Measured]) -> dict:
    """Return the table's row: medians, share of right counts, the lowest mean IoU, faults."""

    def median(name: str) -> float:
        return float(np.median([getattr(item, name) for item in results]))

    return {
        "variant": variant.name,
        "n": len(results),
        "right": float(np.mean([item.right for item in results])),
        "mean_iou": median("mean_iou"),
        "worst_iou": median("worst_iou"),
        "error_px": median("error_px"),
        "lowest_iou": min(item.mean_iou for item in results),
        "invalid": sum(not item.valid for item in results),
        "gap_px": median("gap_px"),
        "overlap_px": max(item.overlap_px for item in results),
        "vertices": median("vertices"),
        "seconds": median("seconds"),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--variant", action="append", choices=[variant.name for variant in VARIANTS])
    parser.add_argument("--limit", type=int, help="even choice of this many artworks")
    parser.add_argument("--only", help="only artworks whose name contains this")
    parser.add_argument("--overlays", type=Path, help="folder for pictures of the worst cases")
    parser.add_argument("--worst", type=int, default=10)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    arts = artworks(options.limit)
    if options.only:
        arts = [art for art in arts if options.only in art.name]
    print(f"{len(arts)} artworks")
    print(
        "variant   n  right  mean IoU  worst color  boundary px  lowest  invalid  gap px2  overlap  vertices"
        "  s"
    )
    for variant in VARIANTS:
        if options.variant and variant.name not in options.variant:
            continue
        results = run(variant, arts, options.overlays, options.worst)
        line = row(variant, results)
        if options.json:
            print(json.dumps(line))
        else:
            print(
                f"{line['variant']:7} {line['n']:3}   {line['right']:.2f}   {line['mean_iou']:.4f}       "
                f"{line['worst_iou']:.4f}        {line['error_px']:.3f}   {line['lowest_iou']:.3f}  "
                f"{line['invalid']:7}  {line['gap_px']:7.2f}  {line['overlap_px']:7.2g}  "
                f"{line['vertices']:8.0f}  {line['seconds']:.2f}"
            )
        for item in sorted(results, key=lambda item: (item.mean_iou, item.right))[: options.worst]:
            print(
                f"    {item.name:40} {item.found}/{item.wanted} {'' if item.right else 'WRONG'} "
                f"{item.mean_iou:.4f} {item.worst_iou:.4f} {item.error_px:.3f} "
                f"gap {item.gap_px:.1f} {item.failure}"
            )


if __name__ == "__main__":
    main()
