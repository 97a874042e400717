"""Open artworks larger than the bed, cut where it shows least: every part sound, on its bed, its gap kept."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

import openart
import reliefsmith as rs
from forms import UNCLEAN
from reliefsmith.mesh import cut
from reliefsmith.polygons.packing import Placed, placed_shape
from reliefsmith.solid.segmented import parts_by_segment
from sound import assert_closed

pytestmark = pytest.mark.deep

COUNT, EVERY, PIXELS = 12, 4, 1024
LONGEST_MM, BED = 320.0, 200.0
GAP, EXACT_MM = 0.2, 1e-3
DOWN = {"heights.style": "flush", "heights.face": "down", "printer.filaments": 8}


@pytest.mark.parametrize("face", ["up", "down"])
@pytest.mark.parametrize("number", [EVERY * place for place in range(COUNT)])
def test_open_artworks_are_cut_for_the_bed(number: int, face: str, tmp_path: Path) -> None:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = tmp_path / "art.png"
    openart.drawn(art, page, matrix, None).save(picture)
    values = {"size.longest_mm": LONGEST_MM, "seams.mode": "auto", **(DOWN if face == "down" else {})}
    relief = rs.make(picture, rs.Recipe().with_values(values))
    division = relief.plan.division
    assert division is not None
    codes = {item.code for item in relief.findings}
    assert not codes & {*UNCLEAN, "bed-too-small", "not-one-piece", "first-layer-island"}, codes
    solids = parts_by_segment(relief.parts, division, mirrored=face == "down")
    assert sum(len(part.triangles) for own in solids for part in own) == sum(
        len(part.triangles) for part in relief.parts
    )
    for own in solids:
        assert own
        for part in own:
            assert_closed(part)
    for z in (0.3, 1.9):
        slices = [
            shapely.union_all([cut(part.vertices, part.triangles, z) for part in own]) for own in solids
        ]
        gaps = [
            shapely.distance(one, other)
            for index, one in enumerate(slices)
            for other in slices[index + 1 :]
            if shapely.dwithin(one, other, 2 * GAP)
        ]
        assert np.min(gaps) >= GAP - EXACT_MM
    for one in division.segments:
        outline = (
            shapely.transform(one.outline, lambda xy: xy * (-1.0, 1.0)) if face == "down" else one.outline
        )
        x0, y0, x1, y1 = placed_shape(outline, Placed(0, 0, one.turn_deg, one.at_mm)).bounds
        assert min(x0, y0) >= -EXACT_MM
        assert max(x1, y1) <= BED + EXACT_MM
