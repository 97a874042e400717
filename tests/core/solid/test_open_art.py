"""Every style on open artworks that nobody here drew (sources: openart.py): sound, nothing in the air."""

from __future__ import annotations

from pathlib import Path

import pytest

import openart
import reliefsmith as rs
from reliefsmith.checks.independent import check_parts
from reliefsmith.solid.stacking import STYLES
from sound import assert_sound

COUNT = 48
PIXELS = 1024
NEVER = {"not-watertight", "parts-overlap", "not-one-piece", "motif-over-edge", "island-in-air", "overhang"}


@pytest.mark.deep
@pytest.mark.parametrize("width", [30.0, 70.0, 150.0])
@pytest.mark.parametrize("number", range(COUNT))
def test_every_style_of_an_open_artwork_is_sound(number: int, width: float, tmp_path: Path) -> None:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = tmp_path / "art.png"
    openart.drawn(art, page, matrix, None).save(picture)
    for style in STYLES:
        recipe = rs.Recipe().with_values({"size.width_mm": width, "heights.style": style})
        relief = rs.make(picture, recipe)
        assert_sound(relief, width_mm=width)
        found = check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)
        assert not NEVER & {item.code for item in (*relief.findings, *found)}, style
        if style == "stepped":
            assert relief.stack.by_height
            assert relief.inspection.estimate.changes == len(relief.plan.motifs)
