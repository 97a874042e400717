"""Small pictures saved with lossy compression: what rings round edges is no color once enlarged."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.colorimetry import ciede2000, srgb_to_lab
from reliefsmith.walk.pipeline import find_areas

VIOLET, AMBER, NAVY = "#7a5ccc", "#f2a73b", "#1c2f6b"
OVER = 8


def banner(side: int) -> Image.Image:
    """Draw a wavy violet streamer, an amber lantern and its navy cap on white, smooth at the edges."""
    page = Image.new("RGB", (side * OVER, side * OVER), "white")
    pen = ImageDraw.Draw(page)
    x = np.linspace(0.08, 0.92, 200)
    for at, level in zip(x, 0.3 + 0.09 * np.sin(x * 14), strict=True):
        pen.ellipse(
            [value * side * OVER for value in (at - 0.06, level - 0.06, at + 0.06, level + 0.06)], fill=VIOLET
        )
    pen.ellipse([value * side * OVER for value in (0.35, 0.52, 0.69, 0.9)], fill=AMBER)
    pen.rectangle([value * side * OVER for value in (0.44, 0.48, 0.6, 0.56)], fill=NAVY)
    return page.resize((side, side), Image.Resampling.BOX)


@pytest.mark.parametrize(("side", "quality"), [(200, 70), (300, 50), (300, 75), (400, 60), (600, 40)])
def test_a_small_lossy_picture_has_its_own_colors_only(tmp_path: Path, side: int, quality: int) -> None:
    banner(side).save(tmp_path / "banner.jpg", quality=quality, subsampling=2)
    found = find_areas(tmp_path / "banner.jpg")
    wanted = [[int(color[i : i + 2], 16) for i in (1, 3, 5)] for color in (VIOLET, AMBER, NAVY)]
    art = found.colors[found.art]
    gaps = ciede2000(srgb_to_lab(np.array(wanted))[:, None], srgb_to_lab(art)[None])
    assert len(art) == 3
    assert gaps.min(axis=1).max() < 4.0
