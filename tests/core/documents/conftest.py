"""The kite that most documents are tried with, made once; a frozen value, so that no test changes it."""

from __future__ import annotations

import pytest

from reliefsmith.model import Result

from .jobs import kite


@pytest.fixture(scope="session")
def job() -> Result:
    """A navy base with an eyelet, a red sail, a yellow ribbon."""
    return kite()
