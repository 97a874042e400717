"""A photograph in which a sheet is found easily, shared by tests, and how far corners are off."""

from __future__ import annotations

from functools import cache

import numpy as np

from sheetphotos import photograph

EASY = {
    "bulge": 0.0,
    "grass": False,
    "border": False,
    "pen": False,
    "hand": False,
    "tilt": 25.0,
    "megapixels": 0.6,
}


@cache
def easy() -> object:
    """Return a sheet of A4 on a cloth."""
    return photograph(5, table="cloth", page="A4", **EASY)


def off_px(found: np.ndarray, true: np.ndarray) -> float:
    """Return how far the worst corner is off, whichever comes first."""
    return min(float(np.linalg.norm(np.roll(found, turn, axis=0) - true, axis=1).max()) for turn in range(4))
