"""What pictures cost that are hard to plan, in times of the lantern sample, measured in the same run.

Run with `pytest -m bench -s tests/benchmarks/test_intricate.py`; intricate.py measures all 538.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from intricate import CAP_S, SAMPLES, cells_and_lines, cost_of, maps, patterns, saved

pytestmark = pytest.mark.bench

MOST = 8.0
DEAREST = ("stripes-2-128", "speckle-150-0.5-1.0", "code-57-6", "staves-4", "land-8-2.0-200")
FAR_TOO_FINE = (
    "stripes-8-700",
    "code-77-6",
    "stripes-2-700",
    "stripes-4-300",
    "checkers-2-64",
    "speckle-400-0.5-1.0",
    "land-8-1.5-600",
)


@pytest.fixture(scope="module")
def lantern() -> float:
    return min(cost_of(SAMPLES / "lantern.png").seconds for _ in range(3))


@pytest.mark.parametrize("name", [*DEAREST, *FAR_TOO_FINE])
def test_no_picture_costs_more_than_eight_lanterns(name: str, lantern: float, tmp_path: Path) -> None:
    (picture,) = [
        item for group in (patterns, cells_and_lines, maps) for item in group() if item.name == name
    ]
    cost = cost_of(saved(picture, tmp_path), picture.options, CAP_S)
    print(f"\n{name:24} {cost.seconds / lantern:5.1f} x  exit {cost.status}  {cost.words}", end="")
    assert cost.status in ((2,) if name in FAR_TOO_FINE else (0, 1))
    assert cost.seconds <= MOST * lantern
