"""Marks on the whole walk: any of them together, which stages they run, the samples with several."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import reliefsmith as rs
from reliefsmith.recipe import Recipe
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore, encode
from sound import assert_sound
from tiers import Early, broad

from .arts import artworks, assert_in_register, codes, connected, repaired

pytestmark = pytest.mark.usefixtures("unadvised")

SAMPLES = Path(__file__).parents[3] / "samples"
PLACES = st.tuples(st.floats(-14, 14), st.floats(-14, 14)).map(lambda at: [round(value, 2) for value in at])
CORNERS = st.tuples(PLACES, st.floats(2, 12), st.floats(2, 12)).map(
    lambda box: [
        [box[0][0] + x * box[1] / 2, box[0][1] + y * box[2] / 2]
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
)
VALUES = {
    "protect": st.none(),
    "leave-thin": st.none(),
    "thicken": st.floats(0.4, 2.5),
    "border": st.floats(0, 4),
    "link": st.none() | st.floats(2, 5),
    "no-link": st.none() | st.floats(0.5, 6),
}


@st.composite
def any_mark(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(sorted(VALUES)))
    value = draw(VALUES[kind])
    where = draw(st.one_of(PLACES.map(lambda at: {"at_mm": at}), CORNERS.map(lambda at: {"polygon_mm": at})))
    return {"kind": kind, **where, **({} if value is None else {"value": value})}


@settings(max_examples=30)
@given(artworks(), st.lists(any_mark(), min_size=1, max_size=5))
def test_with_any_marks_all_is_one_piece_and_in_register(areas, marks) -> None:
    recipe = Recipe().with_values({"marks": marks})
    fixed = repaired(areas, recipe)
    assert_in_register(fixed)
    for motif in fixed.motifs:
        assert motif.polygon.distance(fixed.base.boundary) >= 0.3 - 0.005
    plan = connected(areas, recipe, fixed)
    assert plan.base.geom_type == "Polygon"
    assert_in_register(plan)
    told = codes(plan.notes).count("mark-applied") + codes(plan.findings).count("mark-missed")
    assert told == len(marks)


MARKS = (
    {"kind": "protect", "at_mm": [0.0, 5.0]},
    {"kind": "border", "polygon_mm": [[-30, -30], [0, -30], [0, 0], [-30, 0]], "value": 2.5},
    {"kind": "no-link", "at_mm": [10.0, 0.0], "value": 3.0},
    {"kind": "thicken", "polygon_mm": [[0, 0], [20, 0], [20, 20], [0, 20]], "value": 0.9},
    {"kind": "leave-thin", "polygon_mm": [[-20, 0], [0, 0], [0, 20], [-20, 20]]},
    {"kind": "link", "at_mm": [0.0, 0.0]},
)
AFTER = {
    "connected",
    "hung",
    "backed",
    "lettered",
    "stood",
    "divided",
    "accessories",
    "stacked",
    "parts",
    "inspection",
    "matching",
}
WITHOUT_VALUE = {"handed"}  # nothing without hand relief, so nothing is kept of it
RUN: dict[str, set[str]] = {
    "protect": {"outlined", "mended", "repaired"},
    "border": {"outlined", "inscribed", "repaired", "lettering"},  # which tells a width of the whole piece
    "no-link": set(),
    "thicken": {"mended", "repaired"},
    "leave-thin": {"mended", "repaired"},
    "link": set(),
}


class _Watched(MemoryStore):
    """A store that tells which stages ran: whose values were put into it."""

    def put(self, stage: str, key: str, value: Any) -> None:
        self.__dict__.setdefault("ran", set()).add(stage)
        super().put(stage, key, value)


def test_a_mark_runs_just_the_stages_that_it_changes() -> None:
    store = _Watched(keep=20)
    job = Job(SAMPLES / "kite.png", store)
    recipe = Recipe.load(SAMPLES / "kite.toml")
    plain = job.relief(recipe)
    early = Early("flat")  # which no mark of these changes
    for mark in MARKS:
        store.ran.clear()
        kept = job.relief(one := recipe.with_values({"marks": [dict(mark)]}))
        seen = {"compared"} if encode(kept.plan.above) != encode(plain.plan.above) else set()
        assert store.ran - WITHOUT_VALUE == {*RUN[mark["kind"]], *AFTER, *seen}, mark["kind"]
        assert encode(kept.plan) == encode(rs.make(SAMPLES / "kite.png", one, store=early).plan)


@pytest.mark.parametrize(
    "name", broad(["kite.png", "heron.jpg", "lantern.png"], lambda name: name == "kite.png")
)
def test_samples_with_marks_are_sound_and_incremental_equals_fresh(name: str) -> None:
    recipe = Recipe.load(SAMPLES / f"{name.split('.', maxsplit=1)[0]}.toml")
    job = Job(SAMPLES / name, MemoryStore())
    plain = job.relief(recipe)
    ran: set[str] = set()
    marked = recipe.with_values({"marks": [dict(mark) for mark in MARKS]})
    relief = job.relief(marked, lambda step: ran.add(step.stage) if step.fraction < 1.0 else None)
    assert "marked" not in ran  # these marks change no area
    assert_sound(relief)
    fresh = rs.make(SAMPLES / name, marked)
    assert encode(relief.plan) == encode(fresh.plan)
    assert encode(relief.parts) == encode(fresh.parts)
    assert encode(job.relief(recipe).parts) == encode(plain.parts)
