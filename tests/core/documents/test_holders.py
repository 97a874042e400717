"""What a piece hangs on: sizes of the shipped table or of the recipe, drawn at its place in its size."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest
import shapely

from reliefsmith.documents.holders import (
    LOOP_MM,
    RINGS,
    bail_mm,
    draw_bail,
    draw_hardware,
    hardware_named,
    hardware_of,
    path_of,
)
from reliefsmith.model import Pocket
from reliefsmith.polygons.cover import View
from reliefsmith.recipe import Recipe

TABLE = tomllib.loads((files("reliefsmith_data") / "hardware.toml").read_text(encoding="utf-8"))


def test_the_ring_bears_at_the_resting_point_half_behind_half_before():
    ring = hardware_named("split-ring")
    view = View(-20, 40, 10.0, (400, 600))
    behind, before = (np.asarray(item)[..., 3] for item in draw_hardware(ring, (0.0, 0.0), view))
    rows, columns = np.nonzero(behind)
    assert (rows.max() + 1) / 10.0 == pytest.approx(40 + ring.wire_mm, abs=0.15)  # the wire's underside
    assert (columns.max() + 1 - columns.min()) / 10.0 == pytest.approx(ring.outer_mm, abs=0.2)
    assert np.nonzero(before)[1].max() / 10.0 < 20 + 1.0  # the front half stays to the left


@pytest.mark.parametrize("kind", TABLE)
def test_hardware_is_that_of_the_table(kind: str) -> None:
    row, hardware = TABLE[kind], hardware_named(kind)
    assert (hardware.kind, hardware.words, hardware.use) == (kind, row["title"], row["use"])
    assert hardware.wire_mm == row.get("wire_mm", 0.0)
    assert hardware.size_mm == tuple(row.get("size_mm", ()))
    assert "-" not in hardware.noun
    if kind in RINGS:  # the table's reach is the inner radius less the wire
        inner = hardware.outer_mm - 2 * hardware.wire_mm
        assert row["reach_mm"] == pytest.approx(inner / 2 - hardware.wire_mm)


def _of(job, pockets: tuple[Pocket, ...] = (), **said: object):
    recipe = Recipe().with_values({f"hang.{key}": value for key, value in said.items()})
    plan = replace(job.plan, pockets=pockets, hole=None if pockets else job.plan.hole)
    return hardware_of(replace(job, plan=plan, recipe=recipe))


def _pocket(kind: str) -> Pocket:
    return Pocket(kind, shapely.box(0, 0, 9, 9), 1.0, "back")  # type: ignore[arg-type]


def test_a_plan_says_what_holds_it_else_the_recipe_does(job) -> None:
    assert _of(job, hardware="cord").kind == "cord"
    assert _of(job).kind == next(iter(TABLE))
    assert _of(job, hardware="none") is None
    named = replace(job, plan=replace(job.plan, hole=replace(job.plan.hole, hardware="ball-chain")))
    assert hardware_of(named).kind == "ball-chain"
    assert hardware_of(replace(job, plan=replace(job.plan, hole=None))) is None


@pytest.mark.parametrize(
    ("kind", "said", "size", "words"),
    [
        ("magnet", {}, (8, 1), "magnet of 8 x 1 mm"),
        ("magnet", {"magnet_mm": (6, 2)}, (6, 2), "magnet of 6 x 2 mm"),
        ("pin", {"pin_mm": (4, 20)}, (20, 4), "brooch pin with a bar of 20 x 4 mm"),
        ("tape", {"tape_mm": (12, 30)}, (30, 12), "of 30 x 12 mm"),
    ],
)
def test_what_lies_in_a_pocket_has_the_size_of_the_recipe(
    job, kind: str, said: dict, size: tuple[float, float], words: str
) -> None:
    found = _of(job, (_pocket(kind),), **said)
    assert found.size_mm[:2] == size
    assert found.words.endswith(words)
    if kind != "magnet":
        assert found.size_mm[2] == TABLE[kind]["size_mm"][2]


@pytest.mark.parametrize("hole", [2.0, 4.5, 5.0, 50.0])
def test_the_thickest_screw_that_passes_is_taken(job, hole: float) -> None:
    row = TABLE["screw"]
    thread = max(
        (head[0] for head in row["heads_mm"] if head[0] + row["play_mm"] <= hole + 1e-9), default=None
    )
    if thread is None:
        with pytest.raises(ValueError, match="empty"):
            _of(job, hardware="screw", hole_mm=hole)
        return
    found = _of(job, hardware="screw", hole_mm=hole)
    assert found.size_mm == (thread, dict(map(tuple, row["heads_mm"]))[thread])


def test_a_strap_is_as_wide_as_its_slot_less_its_play(job) -> None:
    found = _of(job, hardware="strap", slot_mm=(3.0, 21.0))
    assert found.size_mm == (21.0 - TABLE["strap"]["play_mm"],)
    assert _of(job, hardware="strap").size_mm == tuple(TABLE["strap"]["size_mm"])


@pytest.mark.parametrize("kind", RINGS)
def test_a_ring_is_a_circle_whose_wire_bears_below_the_edge_of_the_hole(kind: str) -> None:
    ring, rest = hardware_named(kind), (3.0, 5.0)
    path = np.array(path_of(ring, rest))
    middle = (path.min(axis=0) + path.max(axis=0)) / 2
    assert np.hypot(*(path - middle).T) == pytest.approx(
        [(ring.outer_mm - ring.wire_mm) / 2] * len(path), rel=1e-6
    )
    assert path[0] == pytest.approx((3.0, 5.0 - ring.wire_mm / 2))
    assert path[-1] == pytest.approx(path[0])


@pytest.mark.parametrize("kind", ["cord", "ball-chain"])
def test_a_loop_closes_above_and_is_as_long_as_it_is(kind: str) -> None:
    path = np.array(path_of(hardware_named(kind), (0.0, 0.0)))
    assert np.ptp(path[:, 1]) == pytest.approx(LOOP_MM)
    assert path[-1] == pytest.approx(path[0])
    assert path[:, 0].max() == pytest.approx(-path[:, 0].min())
    top = path[path[:, 1].argmax()]
    assert top[0] == pytest.approx(0, abs=1e-9)


def test_a_knot_lies_midway_above_two_holes_higher_the_farther_they_are() -> None:
    cord, rests = hardware_named("cord"), ((-20.0, 3.0), (40.0, 3.0))
    assert bail_mm(cord, rests) == pytest.approx(0.4 * 60)
    assert bail_mm(cord, ((0.0, 0.0), (1.0, 0.0))) == cord.outer_mm / 2
    view = View(-30, 40, 4.0, (320, 200))
    behind, before = (np.asarray(picture)[..., 3] for picture in draw_bail(cord, rests, view))
    assert not behind.any()
    rows, columns = np.nonzero(before)
    assert 40 - rows.min() / 4 == pytest.approx(3 + 24 + 1.5 * cord.wire_mm, abs=0.4)
    assert (columns.min() / 4 - 30, columns.max() / 4 - 30) == pytest.approx((-20, 40), abs=cord.wire_mm)


def test_a_strap_goes_up_from_its_slot_as_wide_as_it_is() -> None:
    strap, view = hardware_named("strap"), View(-20, 40, 5.0, (200, 300))
    for picture in draw_hardware(strap, (2.0, 1.0), view):
        rows, columns = np.nonzero(np.asarray(picture)[..., 3])
        assert (columns.max() + 1 - columns.min()) / 5 == pytest.approx(strap.size_mm[0], abs=0.4)
        assert (columns.max() + 1 + columns.min()) / 10 - 20 == pytest.approx(2.0, abs=0.3)
        assert 40 - (rows.max() + 1) / 5 == pytest.approx(0.5, abs=0.3)
    assert math.isfinite(strap.outer_mm)
