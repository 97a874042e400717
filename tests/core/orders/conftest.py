"""A day's work, made once for all tests of orders; none of them changes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from .days import make_day


@pytest.fixture(scope="session")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a batch of three rows."""
    return make_day(tmp_path_factory.mktemp("kite-day"))
