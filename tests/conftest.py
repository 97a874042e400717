"""What holds for every test: no clock, all cores for the whole tier, and in CI nothing is skipped."""

from __future__ import annotations

import gc
import importlib.util
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator

import pytest

LONGEST = (
    "test_blenders.py",
    "test_readme.py",
    "test_samples.py",
    "test_streams.py",
    "test_forms.py",
    "test_runs.py",
    "test_tops.py",
    "test_kills.py",
    "test_cluster.py",
)
"""Files that begin first, so that none is left for one core at the end."""

if importlib.util.find_spec("hypothesis") is not None:  # the environments of Blender have none
    from hypothesis import HealthCheck, settings
    from hypothesis.internal.conjecture import providers

    # The same cases on every machine and in every process, however slow it is and whatever else runs there;
    # nor may they depend on which modules are loaded, whose numbers would be tried.
    providers._get_local_constants = lambda: providers._local_constants
    settings.register_profile(
        "tier", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
    )
    settings.load_profile("tier")


UNWRITTEN, INSTEAD = "PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX"


_HEAP = {"MALLOC_MMAP_THRESHOLD_": str(2**30), "MALLOC_TRIM_THRESHOLD_": str(2**31)}
"""For the processes of a shared run: glibc keeps what arrays gave back; to ask anew took a twentieth."""


def pytest_configure(config: pytest.Config) -> None:
    """Compile modules once for all processes of the run, also where nothing may be written beside them."""
    if hasattr(config, "workerinput"):  # it has read them; its children are as elsewhere
        for name in _HEAP:
            os.environ.pop(name, None)
    if os.environ.pop(UNWRITTEN, "") and INSTEAD not in os.environ:
        os.environ[INSTEAD] = tempfile.mkdtemp(prefix="compiled-")
        config.add_cleanup(lambda: shutil.rmtree(os.environ.pop(INSTEAD), ignore_errors=True))


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Share the whole tier among all cores, file by file, so that what a module shares is made once.

    Tests that are named, the tiers that measure, and `-s` stay in one process, as they do with `-n 0`.
    """
    option = config.option
    whole = config.args_source is not pytest.Config.ArgsSource.ARGS and "not bench" in option.markexpr
    if not whole or option.capture == "no" or option.collectonly or hasattr(config, "workerinput"):
        return
    if config.pluginmanager.hasplugin("xdist") and option.numprocesses is None and not option.tx:
        option.numprocesses, option.dist, option.loadscopereorder = "auto", "loadfile", False
        os.environ.update(_HEAP)


@pytest.fixture(scope="module")
def unadvised() -> Iterator[None]:
    """Mend small pieces without looking for a width at which little would change: most of the work."""
    from reliefsmith.plan.strokes import repair

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(repair, "_MOST_SEARCHED", 0)
        yield


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest files first; the others keep their order."""
    items.sort(key=lambda item: LONGEST.index(item.path.name) if item.path.name in LONGEST else len(LONGEST))


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """Look for garbage seldom, and never among what collecting left: that took a seventh of the time."""
    if "bpy" in sys.modules:  # which wants its objects collected
        return
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Fail the run where CI=true and a test was skipped or expected to fail."""
    if os.environ.get("CI", "").lower() != "true" or exitstatus != pytest.ExitCode.OK:
        return
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    left_out = [*reporter.stats.get("skipped", ()), *reporter.stats.get("xfailed", ())] if reporter else []
    if left_out:
        reporter.write_line(f"{len(left_out)} tests were left out, and CI=true allows none", red=True)
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
