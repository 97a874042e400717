"""A batch's table, and what one process makes of it in one go."""

from __future__ import annotations

from pathlib import Path

import pytest

from reliefsmith.command.cli import run

from .runs import draw_table


@pytest.fixture
def table(tmp_path: Path) -> Path:
    return draw_table(tmp_path)


@pytest.fixture(scope="package")
def straight(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What one process makes in one go."""
    place = tmp_path_factory.mktemp("straight")
    words = ["batch", str(draw_table(place)), "-o", str(place / "out"), "--jobs", "1", "--quiet"]
    assert run(words) == 0
    return place / "out"
