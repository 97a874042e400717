"""Rows share the values that they have in common: each is computed once, whoever makes them."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from lamps import draw_lamp
from reliefsmith.batch.rows import Row
from reliefsmith.batch.rowwork import Limits, Task
from reliefsmith.batch.sharing import Queue, Shared, shared_by
from reliefsmith.pipeline import Job
from reliefsmith.recipe import Recipe
from reliefsmith.walk.stages import STAGES
from reliefsmith.walk.store import MemoryStore

CHANGES: list[dict[str, Any]] = [
    {},
    {"hang.wall_mm": 3.0},
    {"hang.wall_mm": 3.5},
    {"base.border_mm": 2.0},
    {"motif.min_stroke_mm": 0.7, "base.border_mm": 2.0},
    {"order.customer": "Mirabel"},
    {"colors.count": 1},
    {"size.width_mm": 50},
    {"audience": "children", "base.border_mm": 0.0},
    {"audience": "children", "base.border_mm": 0.1},
]


@pytest.fixture
def rows(tmp_path: Path) -> list[Row]:
    """Two lamps in turn, a change in each row, some of them once more, and a lamp that stands alone."""
    lamps = [draw_lamp(tmp_path / f"{n}.png", color=(30 * n, 90, 200)) for n in range(3)]
    changed = [
        Row(n, lamps[n % 2], Recipe().with_values(change))
        for n, change in enumerate((*CHANGES, *CHANGES[:4]), 1)
    ]
    return [*changed, Row(len(changed) + 1, lamps[2], Recipe())]


class Kept(MemoryStore):
    """A store that remembers under which keys values were put into it."""

    def __init__(self) -> None:
        super().__init__()
        self.keys: list[tuple[str, str]] = []

    def put(self, stage: str, key: str, value: Any) -> None:
        self.keys.append((stage, key))
        super().put(stage, key, value)


def test_what_is_said_to_be_shared_has_one_key(rows: list[Row]) -> None:
    _, shared = shared_by(rows)
    keys: dict[int, set[tuple[str, str]]] = {}
    for row in rows:
        store = Kept()
        Job(row.picture, store).relief(row.recipe)
        real = dict(store.keys)
        own = shared[row.number]
        names = [stage.name for stage in STAGES if stage.name in own.stages]
        for value, name in zip(own.values, names, strict=True):
            keys.setdefault(value, set()).add((name, real[name]))
    assert len(keys) > 10
    assert all(len(found) == 1 for found in keys.values())


def test_rows_that_share_stand_side_by_side_and_one_alone_shares_nothing(rows: list[Row]) -> None:
    ordered, shared = shared_by(rows)
    groups = [shared[row.number].group for row in ordered]
    assert groups == sorted(groups, key=groups.index)
    assert ordered[-1].number == len(rows)
    assert shared[len(rows)] == Shared()
    assert shared[2].stages >= {"artwork", "mended", "connected"}
    assert "hung" in shared[2].stages  # row 12 is the same once more
    assert shared[8].group is not None
    assert "flat" not in shared[8].stages  # of a size of its own


@pytest.mark.parametrize("seed", range(20))
def test_no_value_is_computed_by_two_at_a_time_and_every_row_comes_once(seed: int, rows: list[Row]) -> None:
    chance = random.Random(seed)
    ordered, shared = shared_by(rows)
    queue, running, ended, computed = Queue(ordered, shared), [], [], Counter[int]()
    done: set[int] = set()
    left: list[int] = []
    while True:
        while len(running) < 4 and (row := queue.next()):
            values = set(shared[row.number].values) - done
            assert not values & {
                one for other in running for one in shared[other.number].values if one not in done
            }
            running.append(row)
        if not running:
            break
        row = running.pop(chance.randrange(len(running)))
        if chance.random() < 0.2:
            queue.again(row)
            continue
        known = chance.random() < 0.8
        group = queue.ended(row, known=known)
        if known:
            computed.update(value for value in shared[row.number].values if value not in done)
            done.update(shared[row.number].values)
        left += [group] if group is not None else []
        ended.append(row.number)
    assert sorted(ended) == [row.number for row in rows]
    assert set(computed.values()) == {1}
    assert sorted(left) == sorted({one.group for one in shared.values() if one.group is not None})


def test_another_process_takes_shared_values_from_the_folder(rows: list[Row], tmp_path: Path) -> None:
    first, second = Kept(), Kept()
    _, shared = shared_by([rows[0], rows[1], rows[2]])
    places = (tmp_path / "out", False, Limits(), tmp_path / "going", tmp_path)
    pair = [rows[0], rows[2]]  # of one picture
    for row, memory in zip(pair, (first, second), strict=True):
        shares = shared[row.number].stages
        task = Task(row, *places, tmp_path / "values", shares)
        assert task.made(memory).error == ""
    assert {"artwork", "separation", "traced", "mended", "connected"} <= shares
    read = {path.name.partition("-")[0] for path in (tmp_path / "values").iterdir()}
    assert read == shares
    again = Kept()
    one = Job(rows[2].picture, again)
    one.relief(rows[2].recipe)
    assert dict(second.keys) == dict(again.keys)


def test_a_folder_that_cannot_be_used_costs_time_only(rows: list[Row], tmp_path: Path) -> None:
    (tmp_path / "values").write_text("no folder")
    shares = frozenset({"artwork", "traced"})
    task = Task(
        rows[0], tmp_path / "out", False, Limits(), tmp_path / "going", tmp_path, tmp_path / "values", shares
    )
    assert task.made(MemoryStore()).error == ""
