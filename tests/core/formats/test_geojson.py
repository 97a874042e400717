"""Areas as GeoJSON: shapely reads back the very same shapes; RFC 7946 beside each rule."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import shapely

import pieces
from reliefsmith.formats import areas_geojson, areas_svg, frame_members, numbered_members
from reliefsmith.model import FlatAreas
from reliefsmith.model.areas import Frame, NumberedArea

TWO_RINGS = shapely.MultiPolygon([
    shapely.box(0, 0, 9, 9) - shapely.box(1, 1, 4, 4) - shapely.box(5, 5, 8, 8), shapely.box(20, 0, 21, 1)
])  # fmt: skip


def areas(*shapes: shapely.MultiPolygon) -> FlatAreas:
    colors = np.array([pieces.RED, pieces.TEAL, pieces.DARK], np.uint8)[: len(shapes)]
    return FlatAreas(shapes, colors, pieces.frame(), (21, 9))


def features(data: bytes) -> list[dict]:
    return json.loads(data)["features"]


def test_shapely_reads_each_polygon_with_its_own_holes() -> None:
    """3.1.6: first the shell, counter-clockwise, then holes, clockwise; all rings are closed."""
    (feature,) = features(areas_geojson(areas(TWO_RINGS)))
    shape = shapely.from_geojson(json.dumps(feature["geometry"]))
    assert shape.equals(TWO_RINGS)
    assert [len(polygon.interiors) for polygon in shape.geoms] == [2, 0]
    for rings in feature["geometry"]["coordinates"]:
        shell, *holes = (shapely.is_ccw(shapely.LinearRing(ring)) for ring in rings)
        assert shell
        assert not any(holes)
        assert all(ring[0] == ring[-1] for ring in rings)


def test_a_drawing_that_turns_the_other_way_is_written_the_same() -> None:
    turned = shapely.MultiPolygon([shapely.reverse(part) for part in TWO_RINGS.geoms])
    one, other = (features(areas_geojson(areas(shape)))[0]["geometry"] for shape in (TWO_RINGS, turned))
    assert [len(rings) for rings in one["coordinates"]] == [len(rings) for rings in other["coordinates"]]
    assert shapely.from_geojson(json.dumps(one)).equals(shapely.from_geojson(json.dumps(other)))
    assert shapely.is_ccw(shapely.LinearRing(other["coordinates"][0][0]))


def test_names_and_colors_stand_in_the_order_of_the_areas() -> None:
    shapes = (*pieces.motif_shapes(), TWO_RINGS)
    plain = features(areas_geojson(areas(*shapes)))
    assert [one["properties"]["color"] for one in plain] == ["#d32020", "#1e8a8a", "#141821"]
    named = features(areas_geojson(areas(*shapes), ["kite", "tail", 'a "string"']))
    assert [one["properties"]["name"] for one in named] == ["kite", "tail", 'a "string"']
    with pytest.raises(ValueError, match="zip"):
        areas_geojson(areas(*shapes), ["kite"])


def test_only_enclosed_ground_has_a_role_also_as_the_first_entry() -> None:
    found = features(areas_geojson(replace(areas(*pieces.motif_shapes()), enclosed=0)))
    assert [one["properties"].get("role") for one in found] == ["ground", None]


def test_areas_are_numbered_from_one_as_they_were_before_marks() -> None:
    numbered = tuple(NumberedArea(pieces.TEAL, (k + 0.5, -k), 1.0, 12.34567 * k) for k in (1, 2))
    (first, second) = numbered_members(replace(areas(TWO_RINGS), numbered=numbered))
    assert first == {"number": 1, "color": "#1e8a8a", "at_mm": [1.5, -1], "area_mm2": 12.3457}
    assert (second["number"], second["area_mm2"]) == (2, 24.6913)


def test_the_frame_is_told_as_numbers_of_json_and_its_matrix_row_by_row() -> None:
    frame = Frame(np.float64(0.1), (np.float32(0.5), 2), 3, (np.int64(640), 480), tuple(np.arange(9.0)))
    members = json.loads(json.dumps(frame_members(frame)))
    assert members["to_source"] == [[0, 1, 2], [3, 4, 5], [6, 7, 8]]
    assert members == {
        "mm_per_px": 0.1, "origin_px": [0.5, 2.0], "turn_deg": 3.0, "image_px": [640, 480],
        "to_source": members["to_source"],
    }  # fmt: skip
    document = json.loads(areas_geojson(areas(TWO_RINGS)))
    assert (document["type"], document["frame"]) == ("FeatureCollection", frame_members(pieces.frame()))


def test_a_color_without_area_is_written_empty() -> None:
    """The areas are exactly what was found; a color may have lost all of its own."""
    shapes = (pieces.motif_shapes()[0], shapely.MultiPolygon())
    areas = FlatAreas(shapes, np.array([pieces.RED, pieces.TEAL], np.uint8), pieces.frame(), (18, 18))
    assert b'{"coordinates":[],"type":"MultiPolygon"}' in areas_geojson(areas)
    assert b'<title>teal</title><path fill-rule="evenodd" d=""/></g>' in areas_svg(areas)
