"""Open artworks that nobody here drew, through the whole path: every set is sound (sources: openart.py)."""

from __future__ import annotations

from pathlib import Path

import pytest

import openart
import reliefsmith as rs
from sound import assert_sound

pytestmark = pytest.mark.deep

COUNT = 48
PIXELS = 1024


@pytest.mark.parametrize("width", [30.0, 70.0, 150.0])
@pytest.mark.parametrize("number", range(COUNT))
def test_open_artwork_is_sound(number: int, width: float, tmp_path: Path) -> None:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = tmp_path / "art.png"
    openart.drawn(art, page, matrix, None).save(picture)
    relief = rs.make(picture, rs.Recipe().with_values({"size.width_mm": width}))
    assert_sound(relief, width_mm=width)
    hole = relief.plan.hole
    assert hole is not None
    assert hole.wall_mm >= 2.0 - 0.005
    assert hole.hang_angle_deg <= 3.0 or hole.origin == "artwork"
