"""Rulers in the frame of the artwork: which millimetres get a tick, which of them a number."""

from __future__ import annotations

import math
from collections.abc import Iterator

__all__ = ["NUMBERED_RANK", "ruler_step", "ruler_ticks"]

STEPS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500)
NUMBERED_RANK = 2
NUMBERED = 10
"""Every so many ticks one is numbered."""


def ruler_step(least_mm: float) -> int:
    """Return the smallest easily read distance of ticks, in mm, that is not less than `least_mm`.

    Examples
    --------
    >>> ruler_step(0.8), ruler_step(1.6), ruler_step(7.0)
    (1, 2, 10)
    """
    return next((step for step in STEPS_MM if step >= least_mm), STEPS_MM[-1])


def ruler_ticks(low_mm: float, high_mm: float, step_mm: int) -> Iterator[tuple[int, int]]:
    """Give the ticks from `low_mm` to `high_mm`, counted from the origin.

    Each is its place in whole mm and its rank: 2 with a number, 1 half way between numbers, else 0.

    Examples
    --------
    >>> list(ruler_ticks(-5.2, 2.0, 1))[:2], list(ruler_ticks(-25.0, 25.0, 10))[2]
    ([(-5, 1), (-4, 0)], (0, 2))
    """
    for count in range(math.ceil(low_mm / step_mm), math.floor(high_mm / step_mm) + 1):
        rank = 2 if count % NUMBERED == 0 else 1 if count % (NUMBERED // 2) == 0 else 0
        yield count * step_mm, rank
