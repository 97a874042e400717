"""Times of stack, build, inspect and layer check by size; near-linear is asked for, as ratios on one machine.

Run with `pytest -m bench -s tests/benchmarks/test_solid_scale.py`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
import shapely

from core.mesh.samples import checkerboard, round_plate
from core.solid.plans import plan_of
from reliefsmith.checks.independent import check_parts
from reliefsmith.checks.inspect import inspect
from reliefsmith.model import Plan
from reliefsmith.polygons import as_multi, noded_coverage
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

pytestmark = pytest.mark.bench

RECIPE = Recipe()
RED, BLACK, WHITE = (200, 30, 30), (10, 10, 12), (250, 250, 250)
NEAR_LINEAR = 2.5
"""Ten times the size may take ten times the time, times this: sorting, caches, a busy machine."""


def _took(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    value = work()
    return time.process_time() - start, value


def _walk(plan: Plan) -> dict[str, float]:
    """Return seconds of processor time of each stage."""
    took = {}
    took["stack"], stacked = _took(lambda: stack(plan, heights=RECIPE.heights, printer=RECIPE.printer))
    took["build"], parts = _took(lambda: build(stacked))
    took["inspect"], _ = _took(
        lambda: inspect(
            plan,
            stacked,
            parts,
            heights=RECIPE.heights,
            printer=RECIPE.printer,
            hang=RECIPE.hang,
            cost=RECIPE.cost,
            filaments=RECIPE.filaments,
            audience="adults",
        )
    )
    took["check"], _ = _took(lambda: check_parts(parts, printer=RECIPE.printer, heights=RECIPE.heights))
    return took


def _say(name: str, took: dict[str, float]) -> None:
    print(f"\n{name:30}", *(f"{stage} {seconds * 1000:7.0f} ms " for stage, seconds in took.items()), end="")


def _plate(points: int, holes: int) -> Plan:
    """A round base and one motif inside it, together of about `points` vertices."""
    outline = round_plate(points // 2)
    hole_points = 8
    motif = round_plate(points // 2 - holes * hole_points, holes=holes, hole_points=hole_points)
    motif = shapely.transform(motif, lambda ring: (ring * 0.8).round(3))
    base, inside = noded_coverage([outline, motif])[0], noded_coverage([motif])[0]
    return plan_of(base, (RED, inside), color=WHITE)


def test_time_grows_with_size() -> None:
    rows = {}
    for points, holes in ((1_000, 4), (10_000, 40), (100_000, 400)):
        rows[points] = _walk(_plate(points, holes))
        _say(f"{points} vertices, {holes} holes", rows[points])
    for stage in rows[1_000]:
        assert rows[100_000][stage] <= NEAR_LINEAR * 10 * rows[10_000][stage], stage


@pytest.mark.parametrize("top", ["chamfer", "crown"])
def test_time_of_shaped_tops_grows_with_size(top: str) -> None:
    heights = replace(RECIPE.heights, top=top, motif_mm=1.6)
    rows = {}
    for points, holes in ((1_000, 4), (10_000, 40), (100_000, 400)):
        plan, took = _plate(points, holes), {}
        took["stack"], stacked = _took(lambda plan=plan: stack(plan, heights=heights, printer=RECIPE.printer))
        took["build"], _ = _took(lambda stacked=stacked: build(stacked))
        rows[points] = took
        _say(f"{top}, {points} vertices", took)
    for stage in rows[1_000]:
        assert rows[100_000][stage] <= NEAR_LINEAR * 10 * rows[10_000][stage], stage


def test_a_thousand_islands() -> None:
    dots = [shapely.Point(2 * (k % 40), 2 * (k // 40)).buffer(0.7, quad_segs=6) for k in range(1000)]
    motif = noded_coverage([as_multi(dots)])[0]
    base = shapely.box(-3, -3, 81, 53)
    took = _walk(plan_of(base, (RED, motif), color=WHITE))
    _say("1000 islands, 24 k vertices", took)
    assert sum(took.values()) < 60


def test_a_checkerboard() -> None:
    white, black = checkerboard(40)
    took = _walk(plan_of(shapely.box(-2, -2, 82, 82), (RED, white), (BLACK, black), color=WHITE))
    _say("checkerboard of 1600 squares", took)
    assert sum(took.values()) < 60


def test_holes_in_holes() -> None:
    rings = [shapely.Point(0, 0).buffer(r, quad_segs=64) for r in range(60, 2, -2)]
    red = as_multi(shapely.union_all([a - b for a, b in zip(rings[::2], rings[1::2], strict=False)]))
    red = noded_coverage([red])[0]
    took = _walk(plan_of(shapely.box(-62, -62, 62, 62), (RED, red), color=WHITE))
    _say("15 rings in each other", took)
    assert sum(took.values()) < 60
