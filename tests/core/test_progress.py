"""Steps are drained, watched and closed."""

from __future__ import annotations

import pytest

from reliefsmith.progress import Progress, Steps, drain, drained


def _steps(log: list[str]) -> Steps[int]:
    try:
        yield Progress("one", 0.5)
        log.append("half")
        yield Progress("two", 1.0)
        return 7
    finally:
        log.append("released")


def test_drain_returns_the_value_and_shows_each_step() -> None:
    seen: list[Progress] = []
    log: list[str] = []
    assert drain(_steps(log), seen.append) == 7
    assert [step.message for step in seen] == ["one", "two"]
    assert log == ["half", "released"]


def test_closing_cancels_and_releases() -> None:
    log: list[str] = []
    steps = _steps(log)
    next(steps)
    steps.close()
    assert log == ["released"]


def test_an_error_while_showing_progress_releases_too() -> None:
    log: list[str] = []

    def stop(_step: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        drain(_steps(log), stop)
    assert log == ["released"]


def test_the_plain_function_takes_the_same_arguments() -> None:
    assert drained(_steps)([]) == 7
