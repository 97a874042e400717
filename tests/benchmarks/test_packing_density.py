"""How densely pieces lie: the raster packer against shelves of bounding boxes, on samples and open outlines.

Run with `pytest -m bench -s -n 0 tests/benchmarks/test_packing_density.py`; the open outlines are fetched.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely.affinity import scale

import reliefsmith as rs
from openart import artworks
from reliefsmith.polygons.packing import least_gap_mm, pack, placed_shape

pytestmark = pytest.mark.bench

BED, SPACING = (220.0, 220.0), 5.0
SAMPLES = Path(__file__).parents[2] / "samples"
LONGEST_MM, BORDER_MM = 68.0, 1.2
"""Of the open outlines, as pieces have them by default; drawings are grown by a border, as a base is."""


@cache
def sample(name: str) -> shapely.Geometry:
    """The base of a sample, seen from above."""
    picture = next(path for path in SAMPLES.glob(f"{name}.*") if path.suffix in (".png", ".jpg"))
    return rs.make(picture, SAMPLES / f"{name}.toml").plan.base


@cache
def open_outlines() -> tuple[shapely.Geometry, ...]:
    """Two hundred open drawings as bases."""
    found = []
    for art in artworks(200):
        drawing = shapely.union_all(list(art.polygons))
        x0, y0, x1, y1 = drawing.bounds
        factor = LONGEST_MM / max(x1 - x0, y1 - y0)
        found.append(scale(drawing, factor, factor, origin=(0, 0)).buffer(BORDER_MM).simplify(0.01))
    return tuple(found)


def plates(count: int) -> list[shapely.Geometry]:
    """Name plates of ten lengths, 23 to 114 mm, with round ends."""
    lengths = (23, 31, 38, 44, 52, 60, 68, 79, 95, 114)
    return [shapely.LineString([(0, 0), (lengths[n % 10] - 14, 0)]).buffer(7) for n in range(count)]


def shelves(outlines: Sequence[shapely.Geometry]) -> int:
    """Beds of bounding boxes on shelves, the highest first, each lying on its long side (first fit)."""
    boxes = []
    for outline in outlines:
        x0, y0, x1, y1 = outline.bounds
        boxes.append(sorted((x1 - x0 + SPACING, y1 - y0 + SPACING)))
    width, depth = (side + SPACING for side in BED)
    beds: list[list[list[float]]] = []  # shelves of a bed: height, width taken
    for high, wide in sorted(boxes, reverse=True):
        for bed in beds:
            shelf = next((one for one in bed if one[0] >= high and one[1] + wide <= width), None)
            if shelf is not None:
                shelf[1] += wide
                break
            if sum(one[0] for one in bed) + high <= depth:
                bed.append([high, wide])
                break
        else:
            beds.append([[high, wide]])
    return len(beds)


def sets() -> dict[str, list[shapely.Geometry]]:
    kite, mixed = sample("kite"), [sample(name) for name in ("kite", "lantern", "heron")]
    outlines = list(open_outlines())
    return {
        "kite 30": [kite] * 30,
        "kite 100": [kite] * 100,
        "samples 30": [mixed[n % 3] for n in range(30)],
        "samples 100": [mixed[n % 3] for n in range(100)],
        "plates 30": plates(30),
        "plates 100": plates(100),
        "open outlines 200": outlines,
    }


def test_the_raster_packer_needs_no_more_beds_than_shelves() -> None:
    print("\nset: area by bed | beds, density, CPU s at 1 mm | 0.5 mm | and 8 turns | shelves | least gap")
    for name, outlines in sets().items():
        area = sum(outline.area for outline in outlines) / (BED[0] * BED[1])
        said, gap, beds = [], SPACING * 99, []
        for turns, cell in ((4, 1.0), (4, 0.5), (8, 0.5)):
            start = time.process_time()
            packing = pack(outlines, BED, spacing_mm=SPACING, cell_mm=cell, turns=turns)
            took = time.process_time() - start
            for placed in packing.by_bed():
                gap = min(gap, least_gap_mm([placed_shape(outlines[one.index], one) for one in placed]))
            assert not packing.left
            beds.append(packing.beds)
            said.append(f"{packing.beds}, {area / packing.beds:.2f}, {took:.1f}")
        by_boxes = shelves(outlines)
        print(f"{name}: {area:.2f} | {' | '.join(said)} | {by_boxes}, {area / by_boxes:.2f} | {gap:.2f}")
        assert gap >= SPACING - 1e-6
        assert max(beds) <= by_boxes
        assert packing == pack(outlines, BED, spacing_mm=SPACING, cell_mm=cell, turns=turns)
