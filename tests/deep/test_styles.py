"""Open artworks in every style and width, read off their solids layer by layer (sources: openart.py)."""

from __future__ import annotations

from pathlib import Path

import pytest

import openart
import reliefsmith as rs
from reliefsmith.checks.independent import check_parts
from reliefsmith.checks.layerstack import cut_layers_steps
from reliefsmith.checks.strips import thin_share
from reliefsmith.progress import drain
from reliefsmith.walk.pipeline import Job
from seen import share_seen_right
from sound import assert_sound

pytestmark = pytest.mark.deep

COUNT = 48
PIXELS = 1024
STYLES = ("raised", "flush", "sunk", "stepped")
THIN = 0.005
"""Share of a color in a layer that is narrower than the nozzle, at any width."""
WIDTHS_MM = (30.0, 70.0, 150.0)
SEEN = {30.0: 0.95, 70.0: 0.99, 150.0: 0.99}


def _job(number: int, folder: Path) -> Job:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = folder / "art.png"
    openart.drawn(art, page, matrix, None).save(picture)
    return Job(picture)


@pytest.mark.parametrize("number", range(COUNT))
def test_open_artwork_in_every_style_and_width(number: int, tmp_path: Path) -> None:
    job = _job(number, tmp_path)
    for width in WIDTHS_MM:
        for style in STYLES:
            recipe = rs.Recipe().with_values({"size.width_mm": width, "heights.style": style})
            _assert_prints(job.relief(recipe), width, f"{style} at {width:g} mm")


TOPS = ("chamfer", "crown", "brightness")


@pytest.mark.parametrize("number", range(COUNT))
def test_open_artwork_with_every_top(number: int, tmp_path: Path) -> None:
    """Colors seen from above are those of a flat top, layers only recede, and files check as the set does."""
    job = _job(number, tmp_path)
    for style in ("raised", "stepped"):
        for top in TOPS:
            recipe = rs.Recipe().with_values(
                {"heights.style": style, "heights.top": top, "heights.motif_mm": 1.0, "heights.crown_mm": 0.8}
            )
            what = f"{top}, {style}"
            relief = job.relief(recipe)
            assert_sound(relief)
            found = {
                item.code
                for item in check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)
            }
            assert not found & {"overhang", "island-in-air", "parts-overlap", "not-one-piece"}, what
            assert "thin-strokes" not in found, what
            assert share_seen_right(relief.plan, relief.parts, recipe.heights) >= SEEN[70.0], what


def _assert_prints(relief: rs.Relief, width: float, what: str) -> None:
    recipe, plan = relief.result.recipe, relief.plan
    assert_sound(relief, width_mm=width)
    found = check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)
    # At 150 mm a tall artwork is larger than the bed, which is true and no fault.
    assert {item.code for item in found if item.severity == "stop"} <= {"bed-too-small"}, what
    assert plan.hole is not None, what
    assert plan.hole.wall_mm >= 2.0 - 0.005, what
    # Where links join pieces side by side, the centre of mass may lie over the gap: then it is said.
    joined = "link-added" in {item.code for item in plan.notes}
    said = joined and "hangs-crooked" in {item.code for item in plan.findings}
    assert plan.hole.hang_angle_deg <= 3.0 or plan.hole.origin == "artwork" or said, what
    assert share_seen_right(plan, relief.parts, recipe.heights) >= SEEN[width], what
    layers = drain(cut_layers_steps(relief.parts, heights=recipe.heights))
    for layer in layers:
        for name, shape in layer.shapes.items():
            assert thin_share(shape, recipe.printer.nozzle_mm) < THIN, (what, name, layer.first)
    if recipe.heights.style == "stepped":
        assert all(len(layer.shapes) == 1 for layer in layers), what
        assert len(relief.stack.color_changes) == len(relief.parts) - 1, what
