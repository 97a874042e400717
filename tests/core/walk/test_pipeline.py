"""The walk: stages run again only where something that they depend on changed; progress; what it gives."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from reliefsmith.errors import ArtworkError, GeometryError, RecipeError
from reliefsmith.progress import Progress, drain
from reliefsmith.recipe import Recipe
from reliefsmith.walk.pipeline import Job, Relief, find_areas, make
from reliefsmith.walk.stages import STAGES, after
from reliefsmith.walk.store import MemoryStore

PICTURE = np.full((40, 60, 3), 255, np.uint8)
PICTURE[5:35, 5:45] = 200, 30, 30
PICTURE[10:30, 15:30] = 30, 30, 200


class Counting(MemoryStore):
    """Counts how often a stage came to a value."""

    def __init__(self) -> None:
        super().__init__(keep=9)
        self.made: Counter[str] = Counter()

    def put(self, stage: str, key: str, value: Any) -> None:
        self.made[stage] += 1
        super().put(stage, key, value)


@pytest.fixture(scope="module")
def store() -> Counting:
    return Counting()


@pytest.fixture(scope="module")
def relief(store: Counting) -> Relief:
    return Job(PICTURE, store).relief(Recipe())


def _made_anew(store: Counting, picture: Any, values: dict[str, Any], last: str = "matching") -> set[str]:
    before = store.made.copy()
    drain(Job(picture, store).steps(Recipe().with_values(values), last))
    return set(store.made - before) - {"handed"}  # without hand relief there is nothing to keep


def test_every_stage_ran_once_and_none_again(store: Counting, relief: Relief) -> None:
    assert store.made == Counter({stage.name: 1 for stage in STAGES})
    assert _made_anew(store, PICTURE, {}) == set()
    assert _made_anew(store, PICTURE.copy(), {"order.customer": "Tobin"}) == {"matching"}


@pytest.mark.parametrize(
    ("values", "again", "kept"),
    [
        ({"heights.base_mm": 3.0}, {"stacked", "parts"}, {"outlined", "mended", "sampled"}),
        ({"base.border_mm": 2.0}, {"outlined", "hung"}, {"marked", "sampled"}),
        ({"cost.parcel": 4.0}, {"inspection", "matching"}, {"parts", "stacked"}),
    ],
)
def test_only_what_depends_on_a_change_runs_again(
    store: Counting, relief: Relief, values: dict[str, Any], again: set[str], kept: set[str]
) -> None:
    found = _made_anew(store, PICTURE, values)
    assert again <= found
    assert not kept & found


def test_it_ends_at_the_stage_that_is_asked_for(store: Counting, relief: Relief) -> None:
    seen: list[Progress] = []
    values = drain(Job(PICTURE, store).steps(Recipe(), "flat"), seen.append)
    assert set(after("flat")) <= set(values)
    assert "marked" not in values
    assert [one.stage for one in seen if one.fraction == 1.0] == list(after("flat"))
    assert values["flat"] is relief.areas or values["flat"] == relief.areas


def test_what_was_made_before_a_cancel_is_kept() -> None:
    own = Counting()
    steps = Job(PICTURE, own).steps(Recipe(), "flat")
    for progress in steps:
        if progress.stage == "separation" and progress.fraction == 1.0:
            steps.close()
            break
    assert set(own.made) == {"artwork", "separation"}
    assert "artwork" not in _made_anew(own, PICTURE, {}, "separation")


def test_areas_are_those_of_the_walk_with_the_marks_of_the_recipe(store: Counting, relief: Relief) -> None:
    assert len(find_areas(PICTURE, store=store).polygons) == 2
    erased = find_areas(PICTURE, {"marks": [{"kind": "erase", "at": "area 2"}]}, store=store)
    assert sum(not shape.is_empty for shape in erased.polygons) == 1


def test_parts_in_other_colors_are_the_same_solids(store: Counting, relief: Relief) -> None:
    name = relief.parts[1].name
    values = {"filaments.parts": [{"part": name, "color": "#00aa00"}]}
    assert {"hung", "divided"}.isdisjoint(_made_anew(store, PICTURE, values))
    painted = Job(PICTURE, store).relief(Recipe().with_values(values))
    assert painted.parts[1].color == (0, 170, 0)
    assert relief.parts[1].color != (0, 170, 0)
    assert np.array_equal(painted.parts[1].vertices, relief.parts[1].vertices)


def test_a_form_that_needs_more_is_refused_once_the_size_is_known(store: Counting) -> None:
    with pytest.raises(GeometryError, match="too small for medal"):
        drain(
            Job(PICTURE, store).steps(
                Recipe().with_values({"form.kind": "medal", "form.least_mm": 90}), "flat"
            )
        )


def test_the_files_that_it_was_made_from_are_known(store: Counting, tmp_path: Path) -> None:
    Image.fromarray(PICTURE).save(tmp_path / "kite.png")
    (tmp_path / "kite.toml").write_text("[size]\nlongest_mm = 68\n")
    made = make(tmp_path / "kite.png", tmp_path / "kite.toml", store=store)
    assert made.inputs == (tmp_path / "kite.png", tmp_path / "kite.toml")
    assert made.result.stem == "kite"
    assert make(PICTURE, store=store).inputs == ()


def test_a_relief_shows_what_its_result_holds(relief: Relief) -> None:
    result = relief.result
    shown = (relief.parts, relief.plan, relief.stack, relief.inspection, relief.findings, relief.printable)
    assert shown == (
        *(result.parts, result.plan, result.stack, result.inspection, result.findings, result.printable),
    )
    low, high = (
        max(part.vertices[:, 2].max() for part in parts) for parts in (relief.parts_below(1.0), relief.parts)
    )
    assert low == pytest.approx(1.0)
    assert high > 2.0


@pytest.mark.parametrize(
    ("picture", "recipe", "error"),
    [("none.png", {}, ArtworkError), (b"none", {}, ArtworkError), (PICTURE, {"size.width": 3}, RecipeError)],
    ids=range(3),
)
def test_what_cannot_be_used_is_one_line(
    picture: Any, recipe: dict[str, Any], error: type[Exception]
) -> None:
    for call in (make, find_areas):
        with pytest.raises(error) as caught:
            call(picture, recipe)
        assert "\n" not in str(caught.value)
