"""What pictures cost that are hard to plan, in times of the lantern sample, measured in the same run.

Run with `pytest -m bench -s tests/benchmarks/test_intricate.py`; intricate.py measures all 538.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from intricate import CAP_S, SAMPLES, cells_and_lines, cost_of, maps, patterns, saved

pytestmark = pytest.mark.bench

MOST = 8.0
DEAREST = ("code-77-6", "code-117-4", "staves-10", "waves-4", "stripes-8-700")
FAR_TOO_FINE = (
    "stripes-2-700",
    "checkers-2-64",
    "waves-3",
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
