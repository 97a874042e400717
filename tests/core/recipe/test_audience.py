"""For children no outer corner of the outline is sharp, whatever the base and its border."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.checks.handling import TIP_CHILDREN_DEG
from reliefsmith.checks.tips import sharp_tips

SETTINGS = {"base.border_mm": 0, "base.margin_mm": 0, "base.corners": "miter", "hang.hardware": "none"}


@pytest.fixture
def star(tmp_path: Path) -> Path:
    picture = Image.new("RGB", (600, 600), "white")
    pen = ImageDraw.Draw(picture)
    points = [(300, 20), (350, 230), (580, 300), (350, 370), (300, 580), (250, 370), (20, 300), (250, 230)]
    pen.polygon(points, fill="#1e8a8a")
    pen.ellipse((260, 260, 340, 340), fill="#f5b82e")
    path = tmp_path / "star.png"
    picture.save(path)
    return path


@pytest.mark.parametrize("shape", ["outline", "hull", "rectangle", "shield"])
def test_children_get_no_sharp_outline(star: Path, shape: str) -> None:
    recipe = rs.Recipe().with_values({**SETTINGS, "base.shape": shape, "audience": "children"})
    relief = rs.make(star, recipe)
    assert sharp_tips(relief.plan.base, TIP_CHILDREN_DEG) == []
    assert "sharp-tip" not in {item.code for item in relief.findings}
    assert relief.result.recipe.base.border_mm == pytest.approx(0.6)  # the written recipe says what was used


def test_adults_get_what_they_ask_for_and_are_told(star: Path) -> None:
    relief = rs.make(star, rs.Recipe().with_values(SETTINGS))
    assert sharp_tips(relief.plan.base, TIP_CHILDREN_DEG)
    assert "sharp-tip" in {item.code for item in relief.findings}
