"""The plain test command covers the add-on: its tests run inside every Blender that is prepared.

`python addon/check.py --prepare` makes the environments; `.ci/run` makes those of two versions where it can,
and says so where not.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ADDON = Path(__file__).parents[2] / "addon"
IN_CI = os.environ.get("CI", "").lower() == "true"
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


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """The zip is built once and tried in all Blenders, two at a time; what each said, as it comes in."""
    zip_path = check.built(tmp_path_factory.mktemp("zip"), READY)

    def tried(version: str) -> subprocess.CompletedProcess[str]:
        command, environment = check.inside(version, zip_path)
        return subprocess.run(
            command,
            check=False,
            cwd=ADDON.parent,
            env=environment,
            capture_output=True,
            text=True,
            timeout=_LIMIT_S,
        )

    with ThreadPoolExecutor(_AT_ONCE) as pool:
        yield {version: pool.submit(tried, version) for version in READY}


@pytest.mark.skipif(not READY, reason="no Blender is prepared; `python addon/check.py --prepare` makes them")
@pytest.mark.parametrize("version", READY or ["none"])
def test_the_addon_does_what_its_tests_say_inside(outcomes: dict[str, Any], version: str) -> None:
    done = outcomes[version].result()
    closing = next((line for line in reversed(done.stdout.splitlines()) if " in " in line), "")
    counts = check.counted(closing)
    assert done.returncode == 0, f"{done.stdout[-6000:]}\n{done.stderr[-2000:]}"
    assert counts.get("passed", 0) > 50, closing
    counts.pop("deselected", None)  # the deep tier, by the mark that `inside` leaves out
    assert set(counts) <= {"passed"}, closing


def test_a_python_that_does_not_answer_is_none() -> None:
    assert check.python_of("2.99") is None
    here = f"{sys.version_info.major}.{sys.version_info.minor}"
    assert check.python_of(here) == sys.executable


if IN_CI and not READY:  # the script that began this run has said why
    del test_the_addon_does_what_its_tests_say_inside
