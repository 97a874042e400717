"""A plugin of pytest: which functions of a room each test enters, and how long the test takes.

    RELIEFSMITH_REACHED=out/mesh.json PYTHONPATH=tests python -m pytest -p deep.reached tests/core/mesh

What a fixture enters that several tests share counts for each of them, and so does its time.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import pytest

CORE = f"{Path('core/reliefsmith').resolve()}{os.sep}"
"""Where the functions stand; pytest runs in the tree."""

Entered = set[str]

_now: Entered = set()
_shared: dict[str, tuple[Entered, float]] = {}
_told: dict[str, tuple[Entered, float]] = {}


def _on_call(frame: FrameType, event: str, _: object) -> None:
    code = frame.f_code
    if event == "call" and code.co_filename.startswith(CORE):
        _now.add(f"{code.co_filename[len(CORE) :]}:{code.co_firstlineno}")


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef: pytest.FixtureDef[object]) -> Iterator[None]:
    """Note what a shared fixture enters under its name."""
    before, start = set(_now), time.perf_counter()
    _now.clear()
    made = yield
    if fixturedef.scope != "function":
        _shared[f"{fixturedef.baseid} {fixturedef.argname}"] = (set(_now), time.perf_counter() - start)
    _now.update(before)
    return made


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Follow one test, its own fixtures included."""
    _now.clear()
    known = set(_shared)
    start = time.perf_counter()
    sys.settrace(_on_call)
    done = yield
    sys.settrace(None)
    entered, spent = set(_now), time.perf_counter() - start
    for name in getattr(item, "fixturenames", ()):
        for place, (inside, took) in _shared.items():
            base, called = place.rsplit(" ", 1)
            if called == name and item.nodeid.startswith(base):
                entered |= inside
                spent += 0 if place not in known else took
    _told[item.nodeid] = (entered, spent)
    return done


def pytest_sessionfinish() -> None:
    """Write what was found."""
    rows = {name: {"entered": sorted(entered), "s": spent} for name, (entered, spent) in _told.items()}
    Path(os.environ["RELIEFSMITH_REACHED"]).write_text(json.dumps(rows), encoding="utf-8")
