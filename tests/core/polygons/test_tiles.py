from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.polygons import (
    PROTRUDING_MM,
    closed,
    closed_fills,
    near,
    opened,
    opened_parts,
    protrusions,
    residue,
    tiles,
)
from reliefsmith.polygons import tiles as tile_function

from .shapes import ZOO, stars

tiles_module = __import__(tile_function.__module__, fromlist=["MOST_VERTICES"])


@pytest.fixture
def small_tiles(monkeypatch):
    """Halve even small shapes, so that every test crosses tiles."""
    monkeypatch.setattr(tiles_module, "MOST_VERTICES", 6)


@pytest.mark.parametrize("name", list(ZOO))
def test_cores_cover_the_shape_without_overlap(name, small_tiles):
    shape = ZOO[name]
    parts = [tile.part.intersection(tile.core) for tile in tiles(shape, 0.2)]
    assert sum(part.area for part in parts) == pytest.approx(shape.area, abs=1e-9)
    assert shape.symmetric_difference(shapely.union_all(parts)).area < 1e-9


def test_a_large_shape_is_halved_and_a_small_one_is_not():
    assert len(list(tiles(shapely.Point(0, 0).buffer(50, quad_segs=1000), 0.5))) > 1
    assert len(list(tiles(shapely.box(0, 0, 90, 90), 0.5))) == 1
    assert list(tiles(shapely.Polygon(), 0.5)) == []


@settings(max_examples=25)
@given(stars(), st.floats(0.1, 1.0))
def test_work_in_tiles_gives_what_the_whole_gives(shape, radius):
    patch = pytest.MonkeyPatch()
    patch.setattr(tiles_module, "MOST_VERTICES", 6)
    try:
        body = shapely.union_all(opened_parts(shape, radius))
        left = shapely.union_all(residue(shape, radius))
        fill = shapely.union_all(closed_fills(shape, radius))
    finally:
        patch.undo()
    # The engine simplifies its input by 1 % of the distance, differently in every tile.
    slack = 0.02 * radius * shape.length + 1e-6
    assert body.symmetric_difference(opened(shape, radius)).area <= slack
    assert left.symmetric_difference(shape.difference(opened(shape, radius))).area <= slack
    assert fill.symmetric_difference(closed(shape, radius).difference(shape)).area <= slack


@settings(max_examples=25)
@given(stars(), st.floats(0.1, 1.0))
def test_protrusions_are_the_residue_but_for_its_rim(shape, radius):
    out = protrusions(shape, radius)
    left = shape.difference(opened(shape, radius))
    slack = 0.02 * radius * shape.length + 1e-6
    assert out.difference(left).area <= slack
    assert left.difference(out.buffer(2 * PROTRUDING_MM)).area <= slack + PROTRUDING_MM * shape.length


def test_near_is_the_shape_within_the_boxes_of_a_zone():
    zone = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(50, 0, 51, 1)])
    found = near(shapely.box(-100, 0, 100, 1), zone, 2)
    assert sorted(piece.bounds for piece in found.geoms) == [(-2, 0, 3, 1), (48, 0, 53, 1)]
