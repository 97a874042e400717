"""Hand relief that is narrower than the nozzle lays is told, with its place; broad work is not spoken of."""

from __future__ import annotations

import numpy as np
import pytest

import reliefsmith as rs
from handwork import Bumps
from reliefsmith import HandRelief
from reliefsmith.findings import Finding
from reliefsmith.walk.pipeline import Job

WIDE_MM, STEP_MM = 30.0, 0.1


@pytest.fixture(scope="module")
def job() -> Job:
    pixels = np.full((150, 150, 4), (30, 90, 200, 255), np.uint8)
    pixels[30:120, 30:120] = (240, 200, 40, 255)
    return Job(pixels)


def told(job: Job, hand: HandRelief, **changes: object) -> list[Finding]:
    recipe = rs.Recipe().with_values({"size.width_mm": WIDE_MM, "heights.style": "raised", **changes})
    relief = Job(job.picture, job.store, hand).relief(recipe)
    return [item for item in relief.findings if item.code == "hand-thin"]


def walls(wide_mm: float, high_mm: float) -> HandRelief:
    """A wall of 8 mm in the middle of the artwork, along y."""
    count = round(WIDE_MM / STEP_MM) + 1
    x = np.linspace(-WIDE_MM / 2, WIDE_MM / 2, count)
    here = (np.abs(x[None, :]) <= wide_mm / 2 + 1e-9) & (np.abs(x[:, None]) <= 4)
    return HandRelief(np.where(here, high_mm, 0).astype(np.float32), (-0.5, 0.5), STEP_MM / WIDE_MM)


def test_a_thin_wall_is_told_with_its_place(job: Job) -> None:
    (found,) = told(job, walls(0.2, 0.6))
    assert "narrower than the nozzle of 0.4 mm" in found.message
    assert "up to 0.60 mm high" in found.message
    assert found.at_mm is not None
    assert abs(found.at_mm[0]) <= 0.2
    assert abs(found.at_mm[1]) <= 4.1


@pytest.mark.parametrize(("wide_mm", "high_mm"), [(0.8, 0.6), (0.2, 0.15), (0.2, -0.6)])
def test_broad_low_and_carved_work_is_not_spoken_of(job: Job, wide_mm: float, high_mm: float) -> None:
    assert told(job, walls(wide_mm, high_mm)) == []


def test_the_nozzle_decides(job: Job) -> None:
    assert told(job, walls(0.4, 0.6)) == []
    assert len(told(job, walls(0.4, 0.6), **{"printer.nozzle_mm": 0.8})) == 1


def test_bumps_and_waves_as_brushes_leave_them_are_not_spoken_of(job: Job) -> None:
    assert told(job, Bumps(WIDE_MM, WIDE_MM).relief()) == []
