"""Stages as generators of small steps: one protocol for scripts, a progress bar and Blender.

A stage is written as a generator that yields `Progress` between small pieces of work and returns its value.
A plain loop drains it (`drain`), a modal operator advances it one step at a time, and closing it cancels.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from functools import wraps
from typing import ParamSpec, TypeVar

__all__ = ["Progress", "Steps", "drain", "drained", "labelled"]

T = TypeVar("T")
P = ParamSpec("P")


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the work stands.

    Parameters
    ----------
    message : str
        What is being done, in the user's words, such as "finding flat colors".
    fraction : float
        Share of the current stage that is done, 0 to 1.
    stage : str
        Name of the stage; the pipeline fills it in.
    """

    message: str
    fraction: float = 0.0
    stage: str = ""


Steps = Generator[Progress, None, T]


def drain(steps: Steps[T], on_progress: Callable[[Progress], None] | None = None) -> T:
    """Run a generator of steps to its end and return its value.

    Parameters
    ----------
    steps : generator of Progress
        Closed when `on_progress` raises, so a stage can release what it holds.
    on_progress : callable, optional
        Called with every `Progress`.

    Examples
    --------
    >>> def count():
    ...     yield Progress("counting", 0.5)
    ...     return 3
    >>> drain(count())
    3
    """
    try:
        while True:
            step = next(steps)
            if on_progress is not None:
                on_progress(step)
    except StopIteration as stop:
        value: T = stop.value
        return value
    finally:
        steps.close()


def drained(steps: Callable[P, Steps[T]]) -> Callable[P, T]:
    """Give the plain function of a stage that is written as a generator of steps."""

    @wraps(steps)
    def run(*args: P.args, **kwargs: P.kwargs) -> T:
        return drain(steps(*args, **kwargs))

    return run


def labelled(stage: str, steps: Steps[T]) -> Steps[T]:
    """Pass a stage's steps on with the stage's name on each."""
    try:
        while True:
            try:
                step = next(steps)
            except StopIteration as stop:
                value: T = stop.value
                return value
            yield Progress(step.message, step.fraction, stage)
    finally:
        steps.close()
