"""Sheets in photographs by lot: mostly found, hardly ever wrongly, and none where there is none."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.artwork.sheet.search import find_sheet
from sheetphotos import photograph

pytestmark = pytest.mark.deep

COUNT = 64
FIRST = 20_000


def _found(seed: int, **how):
    photo = photograph(seed, **how)
    return photo, find_sheet(np.asarray(photo.image.convert("RGB")))


def test_most_sheets_are_found_and_their_corners_are_right() -> None:
    offs = []
    for seed in range(FIRST, FIRST + COUNT):
        photo, found = _found(seed)
        if found is not None:
            turns = (np.roll(found.corners, turn, axis=0) - photo.corners for turn in range(4))
            off = min(float(np.linalg.norm(turn, axis=1).max()) for turn in turns)
            offs.append(off / np.hypot(*photo.image.size))
    assert len(offs) >= 0.6 * COUNT
    assert sum(off > 0.005 for off in offs) <= 1
    assert np.median(offs) < 0.0003  # 0.7 px of 3 megapixels


@pytest.mark.parametrize("how", [{"sheet": False}, {"fill": 1.5}])
def test_no_sheet_is_found_where_there_is_no_whole_one(how) -> None:
    found = [seed for seed in range(FIRST, FIRST + COUNT // 2) if _found(seed, **how)[1] is not None]
    assert found == []
