"""Open artworks, read off their solids: strokes as wide as the nozzle, colors seen where asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

import openart
import reliefsmith as rs
from reliefsmith.checks.layerchecks import thin_share
from reliefsmith.checks.layers import check_parts
from reliefsmith.checks.layerstack import cut_layers_steps
from reliefsmith.progress import drain
from seen import share_seen_right

pytestmark = pytest.mark.deep

COUNT = 48
PIXELS = 1024
# Share of a color in a layer that is narrower than the nozzle: corners and tips count with it, and at 30 mm
# small cornered islands have little else.
THIN = {30.0: 0.02, 70.0: 0.005, 150.0: 0.005}
SEEN = {30.0: 0.95, 70.0: 0.99, 150.0: 0.99}


@pytest.mark.parametrize("width", sorted(THIN))
@pytest.mark.parametrize("number", range(COUNT))
def test_open_artwork_layer_by_layer(number: int, width: float, tmp_path: Path) -> None:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = tmp_path / "art.png"
    openart.drawn(art, page, matrix, None).save(picture)
    recipe = rs.Recipe().with_values({"size.width_mm": width})
    relief = rs.make(picture, recipe)
    found = check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)
    # At 150 mm a tall artwork is larger than the bed, which is true and no fault.
    assert {item.code for item in found if item.severity == "stop"} <= {"bed-too-small"}
    assert share_seen_right(relief.plan, relief.parts, recipe.heights) >= SEEN[width]
    for layer in drain(cut_layers_steps(relief.parts, heights=recipe.heights)):
        for name, shape in layer.shapes.items():
            assert thin_share(shape, recipe.printer.nozzle_mm) < THIN[width], (name, layer.first)
