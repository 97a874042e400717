"""How well areas match the artist's own shapes: `python tests/benchmarks/accuracy.py`.

Renders open artworks as people send pictures (variants.py), runs the pipeline's areas with neither palette
nor count, and compares them with the exact polygons through the frame, without any fitting. A failed artwork
counts as 0. Left out are only artworks with a color under dE00 5 from the paper of a variant. With `--seed`
the artworks are drawn by lot from ten times as many, people, faces and hands too. `--wild` shows the wilder
rows (wild.py) in place of the usual ones: shadows, shading, strong light, lettering, hand-drawn lines, rays;
`--passed-on` those of small compressed pictures and of small ones blown up (passed_on.py).
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[1]))

from passed_on import PASSED_ON
from variants import VARIANTS, Variant
from wild import WILD

from openart import OpenArt, artworks, by_lot, truth_in
from reliefsmith import ReliefsmithError
from reliefsmith.colorimetry import ciede2000, srgb_to_lab
from reliefsmith.model import FlatAreas
from reliefsmith.walk.pipeline import find_areas
from reliefsmith.walk.store import Store

OWN_COUNT = 30
"""Artworks of a row that draws its own."""

POOR_IOU, POOR_ERROR_PX = 0.99, 0.5
"""What is drawn, if overlays are asked for, besides wrong counts."""


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


def in_pixels(areas: FlatAreas) -> list[shapely.MultiPolygon]:
    """Return the areas in pixels of the source picture, by the frame alone."""
    frame = areas.frame
    c, s = math.cos(math.radians(frame.turn_deg)), math.sin(math.radians(frame.turn_deg))

    def back(points: np.ndarray) -> np.ndarray:
        x, y = points[:, 0] / frame.mm_per_px, -points[:, 1] / frame.mm_per_px
        return np.stack((frame.origin_px[0] + c * x - s * y, frame.origin_px[1] + s * x + c * y), axis=1)

    return [shapely.transform(polygon, back) for polygon in areas.polygons]


def measure(
    art: OpenArt,
    variant: Variant,
    path: Path,
    matrix: tuple,
    colors: tuple | None = None,
    *,
    store: Store | None = None,
) -> Measured:
    """Run the areas of one picture, or take them from a store, and compare them with the truth."""
    colors = colors or art.colors
    measured = Measured(art.name, wanted=len(art.colors))
    begin = time.perf_counter()
    try:
        areas = find_areas(path, store=store)
    except ReliefsmithError as error:
        measured.failure = str(error)
        return measured
    except Exception as error:  # noqa: BLE001 - a crash is a failed artwork; the others are measured still
        measured.failure = f"CRASH {error!r}"
        return measured
    measured.seconds = time.perf_counter() - begin
    truth = truth_in(art, matrix)
    found, shown = counted(truth, colors, areas, variant.color_limit)
    match = matched(colors, shown, variant.color_limit)
    measured.found = len(found)
    measured.right = len(found) == len(truth) and all(index is not None for index in match)
    nearest = matched(colors, shown, 25.0)
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
    measured.result = [truth, found, shown]
    return measured


def counted(
    truth: list[shapely.MultiPolygon], colors: tuple, areas: FlatAreas, limit: float
) -> tuple[list[shapely.MultiPolygon], np.ndarray]:
    """Return the areas in pixels, and their colors, as they count against the truth.

    An opaque picture does not tell the truth's openings from paint in the ground's color, so these are taken
    out of enclosed ground. What is left counts as a color where the art has it and no area comes nearer,
    else as ground.
    """
    found = in_pixels(areas)
    if areas.enclosed is None:
        return found, areas.colors
    if areas.enclosed not in matched(colors, areas.colors, limit):
        return [found[index] for index in areas.art], areas.colors[areas.art]
    found[areas.enclosed] = found[areas.enclosed].intersection(shapely.union_all(truth))
    return found, areas.colors


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


def measured_one(variant: Variant, art: OpenArt, overlays: Path | None) -> Measured | None:
    """Measure one artwork on one variant; None where the variant leaves it out."""
    with tempfile.TemporaryDirectory() as work:
        saved = variant.save(art, Path(work), variant.longest)
        if saved is None:
            return None
        measured = measure(art, variant, *saved)
        poor = not measured.right or measured.mean_iou < POOR_IOU or measured.error_px > POOR_ERROR_PX
        if overlays is not None and measured.result and poor:
            overlays.mkdir(parents=True, exist_ok=True)
            name = f"{variant.name}-{measured.name.replace('/', '_').replace(':', '_')}.png"
            overlay(measured, saved[0], overlays / name, max(1.0, 1200 / variant.longest))
    measured.result = []
    return measured


def chosen(variant: Variant, seed: int | None, limit: int | None) -> list[OpenArt]:
    """Return the artworks of a row: its own, else open ones, the chosen ones or by lot."""
    if variant.draw is not None:
        return [variant.draw(seed or 0, number) for number in range(limit or OWN_COUNT)]
    if seed is not None:
        return by_lot(seed)[:limit]
    return artworks(limit)


def run(variant: Variant, arts: list[OpenArt], overlays: Path | None, jobs: int) -> list[Measured]:
    """Measure all artworks on one variant."""
    if jobs < 2:
        every = [measured_one(variant, art, overlays) for art in arts]
    else:
        with ProcessPoolExecutor(jobs) as pool:
            every = list(
                pool.map(measured_one, *zip(*((variant, art, overlays) for art in arts), strict=True))
            )
    return [measured for measured in every if measured is not None]


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
    every = (*VARIANTS, *WILD, *PASSED_ON)
    names = [variant.name for variant in every]
    parser.add_argument("--variant", action="append", choices=names)
    parser.add_argument("--wild", action="store_true", help="the wilder rows instead of the usual ones")
    parser.add_argument("--passed-on", action="store_true", help="rows of pictures that were passed on")
    parser.add_argument("--seed", type=int, help="artworks drawn by lot instead of the chosen ones")
    parser.add_argument("--limit", type=int, help="even choice of this many artworks")
    parser.add_argument("--only", help="only artworks whose name contains this")
    parser.add_argument("--overlays", type=Path, help="folder for pictures of poor results")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--worst", type=int, default=10)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    print(
        "variant           n  right  mean IoU  worst color  boundary px  lowest  invalid  gap px2  overlap"
        "  vertices  s"
    )
    group = WILD if options.wild else PASSED_ON if options.passed_on else VARIANTS
    for variant in every:
        if variant.name not in (options.variant or [row.name for row in group]):
            continue
        arts = chosen(variant, options.seed, options.limit)
        arts = [art for art in arts if not options.only or options.only in art.name]
        results = run(variant, arts, options.overlays, options.jobs)
        if not results:
            continue
        line = row(variant, results)
        if options.json:
            print(json.dumps(line))
        else:
            print(
                f"{line['variant']:16}{line['n']:3}   {line['right']:.2f}   {line['mean_iou']:.4f}       "
                f"{line['worst_iou']:.4f}        {line['error_px']:.3f}   {line['lowest_iou']:.3f}  "
                f"{line['invalid']:7}  {line['gap_px']:7.2f}  {line['overlap_px']:7.2g}  "
                f"{line['vertices']:8.0f}  {line['seconds']:.2f}"
            )
        poor = sorted(results, key=lambda item: (item.mean_iou, item.right))
        shown = poor[: options.worst] + [item for item in poor[options.worst :] if not item.right]
        far = sorted(poor, key=lambda item: -item.error_px)[: options.worst // 3]
        for item in shown + [item for item in far if item not in shown]:
            print(
                f"    {item.name:40} {item.found}/{item.wanted} {'' if item.right else 'WRONG'} "
                f"{item.mean_iou:.4f} {item.worst_iou:.4f} {item.error_px:.3f} "
                f"gap {item.gap_px:.1f} {item.failure}"
            )


if __name__ == "__main__":
    main()
