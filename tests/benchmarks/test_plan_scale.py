"""Times of the whole plan by size, on sheets of many pictures; near-linear, as ratios in one run.

Run with `pytest -m bench -s tests/benchmarks/test_plan_scale.py`.
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from reliefsmith.model import FlatAreas
from reliefsmith.plan import connect, hang, outline, repair
from reliefsmith.recipe import Recipe
from reliefsmith.walk.pipeline import find_areas

pytestmark = pytest.mark.bench

SAMPLES = Path(__file__).parents[2] / "samples"
RECIPE = Recipe().with_values({"base.shape": "rectangle", "hang.hardware": "none"})
NEAR_LINEAR = 2.5
"""Ten times the size may take ten times the time, times this: sorting, caches, a busy machine."""
COPIES = (1, 4, 9)
GAP_MM = 3.0


def _sheet(areas: FlatAreas, copies: int) -> FlatAreas:
    """Return a square sheet of copies of a picture's areas."""
    side = round(copies**0.5)
    steps = np.ceil(np.array(areas.size_mm) + GAP_MM)
    places = [(column * steps[0], row * steps[1]) for row in range(side) for column in range(side)]
    polygons = [
        shapely.MultiPolygon(
            [
                piece
                for x, y in places
                for piece in shapely.transform(polygon, lambda p, at=(x, y): np.round(p + at, 3)).geoms
            ]
        )
        for polygon in areas.polygons
    ]
    return replace(areas, polygons=tuple(polygons), size_mm=tuple((steps * side - GAP_MM).tolist()))


def _walk(areas: FlatAreas) -> tuple[dict[str, float], int]:
    """Return seconds of processor time of each stage, and the vertices they worked on."""
    took: dict[str, float] = {}

    def timed(name, work):
        start = time.process_time()
        value = work()
        took[name] = time.process_time() - start
        return value

    r = RECIPE
    plan = timed("outline", lambda: outline(areas, base=r.base, colors=r.colors))
    plan = timed("repair", lambda: repair(plan, base=r.base, motif=r.motif, printer=r.printer))
    plan = timed("connect", lambda: connect(plan, pieces=r.pieces, base=r.base))
    timed("hang", lambda: hang(plan, hang=r.hang, heights=r.heights, printer=r.printer))
    return took, int(shapely.get_num_coordinates(np.asarray(areas.polygons, dtype=object)).sum())


@pytest.mark.parametrize("name", ["kite.png", "lantern.png"])
def test_the_plan_grows_with_size(name: str) -> None:
    areas = find_areas(SAMPLES / name, Recipe().with_values({"size.width_mm": 60}))
    rows = {}
    for copies in COPIES:
        took, vertices = _walk(_sheet(areas, copies))
        rows[copies] = sum(took.values()), vertices
        stages = " ".join(f"{stage} {seconds * 1000:6.0f} ms" for stage, seconds in took.items())
        print(f"\n{name:12} {vertices:7} vertices  {stages}  sum {rows[copies][0]:.2f} s", end="")
    (middle, fewer), (large, more) = rows[COPIES[1]], rows[COPIES[2]]
    assert large / middle <= NEAR_LINEAR * more / fewer
