"""Every way out that a message offers as a setting is tried: the message is gone, or another one comes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from reliefsmith import Recipe
from reliefsmith.errors import ReliefsmithError
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore
from remedies import skeleton, ways

PICTURES = ("lamp", "islands", "opaque")


def _drawn(name: str) -> np.ndarray:
    """A gold disc on a blue square; the same two far apart; or the first on white."""
    y, x = np.mgrid[:160, :160] - 79.5
    pixels = np.zeros((160, 160, 4), np.uint8)
    if name == "islands":
        pixels[(x + 50) ** 2 + y * y < 700] = (30, 90, 200, 255)
        pixels[(x - 50) ** 2 + y * y < 700] = (240, 200, 40, 255)
        return pixels
    pixels[20:140, 20:140] = (30, 90, 200, 255)
    pixels[x * x + y * y < 1600] = (240, 200, 40, 255)
    pixels[(x - 40) ** 2 + (y - 40) ** 2 < 100] = (210, 40, 40, 255)
    return np.where(pixels[..., 3:] > 0, pixels, 255)[..., :3] if name == "opaque" else pixels


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Job]:
    folder: Path = tmp_path_factory.mktemp("art")
    for name in PICTURES:
        Image.fromarray(_drawn(name).astype(np.uint8)).save(folder / f"{name}.png")
    return {name: Job(folder / f"{name}.png", MemoryStore(keep=30)) for name in PICTURES}


def _messages(job: Job, recipe: Recipe) -> list[str]:
    """What a job is told: why it is refused, or its findings and notes."""
    try:
        result = job.relief(recipe).result
        return [item.message for item in (*result.findings, *result.notes)]
    except ReliefsmithError as error:
        return [str(error)]


CASES: dict[str, tuple[str, dict[str, Any]]] = {
    "raised face down": ("lamp", {"heights.style": "raised", "heights.face": "down"}),
    "sunk face down in one": ("lamp", {"heights.style": "sunk", "heights.face": "down"}),
    "flush with pegs": ("lamp", {"heights.style": "flush", "heights.split": "pegs"}),
    "crown on flush": ("lamp", {"heights.style": "flush", "heights.top": "crown"}),
    "rim on steps": ("lamp", {"heights.style": "stepped", "base.rim_mm": 1.0, "base.border_mm": 3}),
    "rim under a nozzle": ("lamp", {"heights.style": "raised", "base.rim_mm": 0.3}),
    "own heights on steps": (
        "lamp",
        {"heights.style": "stepped", "heights.colors": [{"color": "#f0c828", "height_mm": 1.0}]},
    ),
    "countersink too low": ("lamp", {"hang.hardware": "screw", "heights.base_mm": 1.0}),
    "screw too narrow": ("lamp", {"hang.hardware": "screw", "hang.hole_mm": 2.0}),
    "magnet too high": ("lamp", {"hang.hardware": "magnet", "heights.base_mm": 1.0}),
    "pin too high": ("lamp", {"hang.hardware": "pin", "heights.base_mm": 1.0}),
    "two magnets on little": (
        "lamp",
        {"hang.hardware": "magnet", "hang.holes": 2, "size.width_mm": 12, "heights.base_mm": 6},
    ),
    "countersink in two plates": (
        "lamp",
        {
            "hang.hardware": "screw",
            "heights.style": "sunk",
            "heights.face": "down",
            "heights.split": "pegs",
            "heights.base_mm": 6,
        },
    ),
    "two holes on little": ("lamp", {"hang.holes": 2, "size.width_mm": 5, "base.border_mm": 0}),
    "eyelet larger than the art": ("lamp", {"size.width_mm": 12, "hang.hole_mm": 6.0}),
    "sunk in a low base": ("lamp", {"heights.style": "sunk", "heights.base_mm": 0.8, "heights.motif_mm": 2}),
    "front plate in a low base": (
        "lamp",
        {"heights.style": "sunk", "heights.face": "down", "heights.split": "pegs", "heights.base_mm": 0.8},
    ),
    "layers above the nozzle": ("lamp", {"heights.layer_mm": 0.5}),
    "low crown": ("lamp", {"heights.style": "raised", "heights.top": "crown"}),
    "thin paint": (
        "lamp",
        {
            "filaments.stock": [{"name": "pale", "color": "#f0c828", "opaque_mm": 3.0}],
            "filaments.only_stock": False,
        },
    ),
    "islands left": ("islands", {"pieces.connect": "none"}),
    "no transparency": ("opaque", {"background.mode": "alpha"}),
    "piece smaller than its border": ("lamp", {"size.measure": "piece", "size.width_mm": 5}),
    "picture above the limit": ("lamp", {"artwork.max_megapixels": 0.01}),
    "low bevel": ("lamp", {"heights.style": "raised", "heights.top": "chamfer", "heights.edge_mm": 0.2}),
}

WORDING_ONLY = {"islands left"}
"""Cases whose message offers no setting with a value or a direction: hand and eye have to decide."""


@pytest.mark.parametrize("case", CASES)
def test_what_a_message_offers_helps(case: str, jobs: dict[str, Job]) -> None:
    picture, values = CASES[case]
    job, recipe = jobs[picture], Recipe().with_values(values)
    offered = 0
    for message in _messages(job, recipe):
        for way in ways(message, recipe):
            offered += 1
            assert any(_helps(job, recipe, change, message) for change in way), (message, way)
    assert bool(offered) == (case not in WORDING_ONLY), _messages(job, recipe)


def _helps(job: Job, recipe: Recipe, change: dict[str, Any], message: str) -> bool:
    try:
        mended = recipe.with_values(change)
    except ReliefsmithError:
        return False
    return skeleton(message) not in {skeleton(one) for one in _messages(job, mended)}
