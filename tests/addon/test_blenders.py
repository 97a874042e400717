"""The plain test command covers the add-on: its tests run inside the Blenders that are prepared.

What Blender's versions differ in most runs inside every one of them, each other file inside one, in turn; in
the deep tier, as by `python addon/check.py`, every file runs inside every one.

`python addon/check.py --prepare` makes the environments; `.ci/run` makes those of two versions where it can,
and says so where not.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from types import ModuleType

import pytest

ADDON = Path(__file__).parents[2] / "addon"
IN_CI = os.environ.get("CI", "").lower() == "true"
TESTS = Path(__file__).parent / "blender"
EVERYWHERE = {"test_install.py", "test_make.py", "test_panels.py", "test_properties.py"}
"""Files about what versions of Blender differ in: extensions, properties, panels, operators with undo."""
_AT_ONCE = 2
_LIMIT_S = 7200
"""What takes longer has stopped: it takes minutes."""


def _check() -> ModuleType:
    """The tool that makes the environments; its own imports are found only while it is loaded."""
    names = ("build", "inventory", "review")
    sys.path.insert(0, str(ADDON))
    try:
        spec = importlib.util.spec_from_file_location("addon_check", ADDON / "check.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(ADDON))
        for name in names:
            sys.modules.pop(name, None)
    return module


check = _check()
READY = [version for version in check.BLENDERS if check.is_ready(version)]


def left_to_others(number: int, count: int) -> set[str]:
    """Return the files that a Blender leaves to the others, by its place among them."""
    dealt = sorted({path.name for path in TESTS.glob("test_*.py")} - EVERYWHERE)
    return {name for place, name in enumerate(dealt) if place % count != number}


@pytest.fixture(scope="module")
def zip_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return check.built(tmp_path_factory.mktemp("zip"), READY)


def _tried(version: str, zip_path: Path, left_out: set[str]) -> subprocess.CompletedProcess[str]:
    more = sorted(f"--ignore={(TESTS / name).relative_to(ADDON.parent)}" for name in left_out)
    command, environment = check.inside(version, zip_path, *more)
    return subprocess.run(
        command,
        check=False,
        cwd=ADDON.parent,
        env=environment,
        capture_output=True,
        text=True,
        timeout=_LIMIT_S,
    )


Outcomes = dict[str, "Future[subprocess.CompletedProcess[str]]"]


@pytest.fixture(scope="module")
def outcomes(zip_path: Path) -> Iterator[Outcomes]:
    """The zip is tried in all Blenders, two at a time; what each said, as it comes in."""
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        yield {
            version: pool.submit(_tried, version, zip_path, left_to_others(number, len(READY)))
            for number, version in enumerate(READY)
        }


def _assert_passed(done: subprocess.CompletedProcess[str]) -> None:
    closing = next((line for line in reversed(done.stdout.splitlines()) if " in " in line), "")
    counts = check.counted(closing)
    assert done.returncode == 0, f"{done.stdout[-6000:]}\n{done.stderr[-2000:]}"
    assert counts.get("passed", 0) > 50, closing
    counts.pop("deselected", None)  # the deep tier, by the mark that `inside` leaves out
    assert set(counts) <= {"passed"}, closing


NONE_READY = pytest.mark.skipif(
    not READY, reason="no Blender is prepared; `python addon/check.py --prepare` makes them"
)


@NONE_READY
@pytest.mark.parametrize("version", READY or ["none"])
def test_the_addon_does_what_its_tests_say_inside(outcomes: Outcomes, version: str) -> None:
    _assert_passed(outcomes[version].result())


@NONE_READY
@pytest.mark.deep
@pytest.mark.parametrize("version", READY or ["none"])
def test_the_addon_does_all_that_its_tests_say_inside(zip_path: Path, version: str) -> None:
    _assert_passed(_tried(version, zip_path, set()))


@pytest.mark.parametrize("count", [1, 2, 4])
def test_every_file_runs_inside_a_blender_and_some_inside_all(count: int) -> None:
    files = {path.name for path in TESTS.glob("test_*.py")}
    runs = [files - left_to_others(number, count) for number in range(count)]
    assert files >= EVERYWHERE
    assert set.union(*runs) == files
    assert set.intersection(*runs) == (EVERYWHERE if count > 1 else files)


def test_a_python_that_does_not_answer_is_none() -> None:
    assert check.python_of("2.99") is None
    here = f"{sys.version_info.major}.{sys.version_info.minor}"
    assert check.python_of(here) == sys.executable


if IN_CI and not READY:  # the script that began this run has said why
    del test_the_addon_does_what_its_tests_say_inside, test_the_addon_does_all_that_its_tests_say_inside
