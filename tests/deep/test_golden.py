"""Kept results: the same bytes under the same versions; the same counts, areas and colors under others."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from deep import golden

pytestmark = pytest.mark.deep

KEPT = json.loads(golden.LIST.read_text(encoding="utf-8"))
JOBS = {job[0]: job for job in golden.jobs()}


@pytest.fixture(scope="module")
def paths(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return golden.pictures(tmp_path_factory.mktemp("art"))


def test_the_list_holds_every_job() -> None:
    assert set(KEPT["jobs"]) == set(JOBS)
    assert len(JOBS) >= 60


@pytest.mark.parametrize("name", JOBS)
def test_a_job_gives_what_is_kept(name: str, paths: dict[str, Path]) -> None:
    kept, found = KEPT["jobs"][name], golden.made(JOBS[name], paths)
    if KEPT["versions"] == golden.shared_versions():
        moved = sorted(key for key in found.keys() | kept.keys() if found.get(key) != kept.get(key))
        assert not moved
        return
    assert found.keys() == kept.keys()
    assert found.get("colors") == kept.get("colors")
    assert found.get("areas_mm2", []) == pytest.approx(kept.get("areas_mm2", []), rel=1e-6)
