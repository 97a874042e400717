"""Flat areas answer which color lies at a place."""

from __future__ import annotations

import numpy as np
import shapely

from reliefsmith.model import FlatAreas, Frame


def test_a_place_has_the_color_of_its_area_and_the_background_has_none() -> None:
    left, right = shapely.box(-4, -1, 0, 1), shapely.box(0, -1, 4, 1)
    areas = FlatAreas(
        polygons=(shapely.MultiPolygon([left]), shapely.MultiPolygon([right])),
        colors=np.array([(210, 50, 45), (30, 138, 138)], np.uint8),
        frame=Frame(0.1, (40.0, 10.0), 0.0, (80, 20)),
        size_mm=(8.0, 2.0),
    )
    assert areas.color_at(-2, 0) == (210, 50, 45)
    assert areas.color_at(3.9, -0.9) == (30, 138, 138)
    assert areas.color_at(0, 0) == (210, 50, 45)  # on the boundary the first one
    assert areas.color_at(0, 1.5) is None
