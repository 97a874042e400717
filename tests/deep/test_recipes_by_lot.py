"""Recipes drawn by lot over every setting: each gives a sound set, or one plain line and nothing else."""

from __future__ import annotations

import os
import random
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

import reliefsmith as rs
from reliefsmith.checks.independent import check_parts
from reliefsmith.errors import ReliefsmithError
from reliefsmith.recipe.settings import Spec, specs
from reliefsmith.recipe.tables import MARK_KINDS
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore
from sound import assert_closed

pytestmark = pytest.mark.deep

COUNT = int(os.environ.get("RELIEFSMITH_RECIPES", "40"))
"""Recipes for each sample; RELIEFSMITH_RECIPES sets another number."""

SAMPLES = Path(__file__).parents[2] / "samples"
PICTURES = ("kite.png", "heron.jpg", "lantern.png")
# What a printer lays is a printer's, not a lot's: wider layers than the nozzle are refused at once.
LEFT = {"artwork", "size", "cost", "order", "printer", "filaments", "areas"}


def _value(lot: random.Random, spec: Spec) -> Any:
    low, high = spec.low or 0.0, spec.high if spec.high is not None else 1.0
    if spec.unit == "mm" and spec.kind == "number":
        return round(lot.uniform(max(low, 0.0), min(high, 6.0)), 2)
    if spec.kind == "number":
        return round(lot.uniform(low, high), 2)
    if spec.kind == "integer":
        return lot.randint(int(low), int(high))
    if spec.kind == "flag":
        return lot.random() < 0.5
    return lot.choice(spec.choices) if spec.kind == "choice" else None


def _mark(lot: random.Random) -> dict[str, Any]:
    kind = lot.choice(sorted(name for name, about in MARK_KINDS.items() if about.point))
    about = MARK_KINDS[kind]
    mark: dict[str, Any] = {"kind": kind}
    x, y = (round(lot.uniform(-30, 30), 2) for _ in range(2))
    if about.polygon and lot.random() < 0.5:
        size = lot.uniform(2, 15)
        mark["polygon_mm"] = [[x - size, y - size], [x + size, y - size], [x, y + size]]
    else:
        mark["at_mm"] = [x, y]
    if about.value == "color" and (about.needs_value or lot.random() < 0.5):
        mark["value"] = lot.choice(["#d2322d", "#1e8a8a", "#f5b82e"])
    if about.value == "mm" and (about.needs_value or lot.random() < 0.5):
        mark["value"] = round(lot.uniform(about.low, min(about.high, 6.0)), 2)
    return mark


def drawn(number: int) -> dict[str, Any]:
    """Return a few settings by lot, the same for the same number."""
    lot = random.Random(number)
    every = {
        f"{item.name}.{key}": spec
        for item in fields(rs.Recipe)
        if item.name not in {*LEFT, "audience", "marks", "lettering"}
        for key, spec in specs(item.default_factory).items()
    }
    values = {
        key: value
        for key in lot.sample(sorted(every), lot.randint(1, 6))
        if (value := _value(lot, every[key])) is not None
    }
    values["heights.style"] = lot.choice(every["heights.style"].choices)
    values["hang.hardware"] = lot.choice(every["hang.hardware"].choices)
    values["size.width_mm"] = round(lot.uniform(25, 120), 1)
    if lot.random() < 0.2:
        values["heights.face"] = "down"
    if lot.random() < 0.3:
        values["audience"] = "children"
    if lot.random() < 0.5:
        values["marks"] = [_mark(lot) for _ in range(lot.randint(1, 3))]
    return values


@pytest.fixture(scope="module")
def stores() -> dict[str, MemoryStore]:
    return {name: MemoryStore() for name in PICTURES}


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("number", range(COUNT))
def test_recipe_by_lot(name: str, number: int, stores: dict[str, MemoryStore]) -> None:
    values = drawn(1000 * PICTURES.index(name) + number)
    refusal = ""
    try:
        relief = Job(SAMPLES / name, stores[name]).relief(rs.Recipe().with_values(values))
    except ReliefsmithError as error:
        refusal = str(error)
    if refusal:
        assert "\n" not in refusal, values
        assert 20 < len(refusal) <= 400, values
        return
    for part in relief.parts:
        assert_closed(part)
    recipe = relief.result.recipe
    found = check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)
    faults = {"not-watertight", "parts-overlap"}
    if relief.printable:  # what the run itself calls unprintable may hang in the air
        faults |= {"island-in-air"}
    assert not faults & {item.code for item in found}, values
