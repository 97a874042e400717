"""The table of stages: each takes what is there before it, and gets just the settings that it names."""

from __future__ import annotations

import inspect
from importlib import import_module
from types import SimpleNamespace

import pytest

from reliefsmith.model import Plan
from reliefsmith.recipe import Recipe
from reliefsmith.walk import stages
from reliefsmith.walk.stages import STAGES, Stage, after, taken_from

GIVEN = {"picture", "hand", "fonts", "back"}


def test_each_stage_takes_what_is_there_before_it() -> None:
    there = set(GIVEN)
    for stage in STAGES:
        assert {name.partition(".")[0] for name in stage.takes} <= there, stage.name
        assert stage.name not in there
        there.add(stage.name)


@pytest.mark.parametrize("stage", STAGES, ids=lambda stage: stage.name)
def test_each_stage_is_a_function_of_what_it_takes_and_its_settings(stage: Stage) -> None:
    module, _, name = stage.function.partition(":")
    signature = inspect.signature(getattr(import_module(f"reliefsmith.{module}"), name))
    places = [one for one in signature.parameters.values() if one.kind is not one.KEYWORD_ONLY]
    if len(stage.settings) == 1:
        assert len(places) == len(stage.takes) + 1
    else:
        assert len(places) == len(stage.takes)
        assert set(stage.settings) == set(signature.parameters) - {one.name for one in places}
    assert all(hasattr(Recipe(), key) for key in stage.settings)
    assert stage.version >= 1
    assert stage.label
    assert set(stage.spared) <= {taken.partition(".")[0] for taken in stage.takes}


def test_fields_that_are_taken_of_a_plan_are_fields() -> None:
    fields = [name.partition(".")[2] for stage in STAGES for name in stage.takes if name.startswith("hung.")]
    assert fields
    assert all(hasattr(Plan, name) for name in fields)


def test_a_field_is_taken_by_its_name_after_a_dot() -> None:
    values = {"hung": SimpleNamespace(above=3)}
    assert taken_from(values, "hung.above") == 3
    assert taken_from(values, "hung") is values["hung"]


def test_the_stages_up_to_one_are_those_before_it_and_itself() -> None:
    assert after(STAGES[0].name) == (STAGES[0].name,)
    assert after(STAGES[-1].name) == tuple(stage.name for stage in STAGES)
    assert after("flat")[-1] == "flat"
    assert "marked" not in after("flat")
    with pytest.raises(ValueError, match="nowhere"):
        after("nowhere")


def test_a_stage_gets_one_section_by_place_and_several_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    def steps(*taken: object, **named: object):
        return taken, named

    monkeypatch.setattr(stages, "import_module", lambda _: SimpleNamespace(steps=steps))
    recipe, values = Recipe(), {"a": 1, "b": SimpleNamespace(c=2)}
    stage = Stage("x", "", "m:steps", ("a", "b.c"), ("size",))
    assert stage.run(values, recipe) == ((1, 2, recipe.size), {})
    named = Stage("x", "", "m:steps", ("b.c",), ("size", "base"))
    assert named.run(values, recipe) == ((2,), {"size": recipe.size, "base": recipe.base})
    assert Stage("x", "", "m:steps", ("a",), ()).run(values, recipe) == ((1,), {})


def test_what_is_spared_is_none_only_where_it_is_not_at_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stages, "import_module", lambda _: SimpleNamespace(steps=lambda *taken: taken))
    stage = Stage("x", "", "m:steps", ("a", "picture"), (), spared=("picture",))
    assert stage.run({"a": 1}, Recipe()) == (1, None)
    assert stage.run({"a": 1, "picture": 2}, Recipe()) == (1, 2)
    with pytest.raises(KeyError):
        stage.run({"picture": 2}, Recipe())
