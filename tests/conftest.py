"""What holds for every test: in continuous integration nothing that should run is skipped."""

from __future__ import annotations

import os

import pytest


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Fail the run where CI=true and a test was skipped or expected to fail."""
    if os.environ.get("CI", "").lower() != "true" or exitstatus != pytest.ExitCode.OK:
        return
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    left_out = [*reporter.stats.get("skipped", ()), *reporter.stats.get("xfailed", ())] if reporter else []
    if left_out:
        reporter.write_line(f"{len(left_out)} tests were left out, and CI=true allows none", red=True)
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
