"""Numbers of areas: the same whatever comes after the areas, and marks that name an area by them."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely

import reliefsmith as rs
from reliefsmith.areas import scale
from reliefsmith.areas.numbers import placed
from reliefsmith.documents.report import report_mapping
from reliefsmith.errors import RecipeError
from reliefsmith.formats import areas_geojson, areas_svg
from reliefsmith.model import FlatAreas, TracedAreas
from reliefsmith.polygons import piece_at
from reliefsmith.recipe.sections import SizeSettings
from reliefsmith.recipe.tables import Mark
from reliefsmith.walk.areafile import areas_report
from reliefsmith.walk.pipeline import find_areas
from reliefsmith.walk.store import MemoryStore

KITE = Path(__file__).parents[3] / "samples" / "kite.png"
STORE = MemoryStore(keep=30)


def kite(*marks: dict[str, object], **values: object) -> FlatAreas:
    return find_areas(KITE, {"marks": list(marks), **values}, store=STORE)


def colors_at(areas: FlatAreas, places: list[tuple[float, float]]) -> list[object]:
    return [areas.color_at(*place) for place in places]


def test_the_largest_area_is_number_1_and_every_place_lies_in_its_own() -> None:
    areas = kite()
    sizes = [item.area_mm2 for item in areas.numbered]
    assert len(sizes) == sum(len(polygon.geoms) for polygon in areas.polygons) > 20
    assert all(one > other - 0.01 for one, other in pairwise(sizes))
    for item in areas.numbered:
        index, piece = piece_at(areas.polygons, item.at_mm) or (0, shapely.Polygon())
        assert tuple(areas.colors[index].tolist()) == item.color
        assert piece.area == pytest.approx(item.area_mm2, rel=0.02, abs=0.02)
        assert piece.exterior.distance(shapely.Point(item.at_mm)) >= 0.9 * item.radius_mm - 0.002


@pytest.mark.parametrize("side", [{"size.width_mm": 21.3}, {"size.height_mm": 310.0}])
def test_numbers_stay_at_another_size(side: dict[str, float]) -> None:
    usual, other = kite(), kite(**side)
    by = other.size_mm[0] / usual.size_mm[0]
    assert [item.color for item in other.numbered] == [item.color for item in usual.numbered]
    places, moved = (np.array([item.at_mm for item in areas.numbered]) for areas in (usual, other))
    assert np.allclose(places * by, moved, atol=0.002 * (1 + by))


def test_equal_areas_are_counted_from_the_upper_left() -> None:
    boxes = [shapely.box(x, y, x + 10, y + 10) for y in (50, 0) for x in (40, 0)]
    # y is down in pixels: those of y 0 lie above
    traced = TracedAreas((shapely.MultiPolygon(boxes),), np.zeros((1, 3), np.uint8), (60, 60))
    places = [item.at_mm for item in scale(traced, SizeSettings(width_mm=50)).numbered]
    assert np.allclose(places, [(-20, 25), (20, 25), (-20, -25), (20, -25)], atol=0.5)


@pytest.mark.parametrize("kind", ["erase", "merge"])
def test_a_number_means_its_area_as_its_place_does(kind: str) -> None:
    place = kite().numbered[6].at_mm
    by_number, by_place = (kite({"kind": kind, **at}) for at in ({"at": "area 7"}, {"at_mm": place}))
    assert by_number.polygons == by_place.polygons
    assert "mark-applied" in {item.code for item in by_number.notes}


def test_numbers_count_the_areas_before_all_marks() -> None:
    before = kite().numbered
    done = kite({"kind": "erase", "at": "area 2"}, {"kind": "recolor", "at": "area 3", "value": "#00ff00"})
    assert done.numbered == before
    assert colors_at(done, [before[1].at_mm, before[2].at_mm]) == [None, (0, 255, 0)]


def test_marks_on_the_plan_take_numbers_and_the_recipe_keeps_them() -> None:
    recipe = {"marks": [{"kind": "border", "at": "area 1, navy", "value": 3.0}]}
    relief = rs.make(KITE, recipe, store=STORE)
    assert not [item for item in relief.findings if item.code == "mark-missed"]
    assert relief.result.recipe.marks[0].at == "area 1, navy"
    assert 'at = "area 1, navy"' in relief.result.recipe.to_toml()


def test_a_color_beside_the_number_is_held_against_the_area() -> None:
    assert kite({"kind": "erase", "at": "area 1, #1b2a4a"}).notes
    with pytest.raises(RecipeError) as caught:
        kite({"kind": "erase", "at": "area 1, red"})
    assert str(caught.value) == (
        "erase mark 1 names area 1 as red, but area 1 is navy (#1b2a49);"
        " areas are numbered anew where colors, background or picture change"
    )


def test_a_number_that_is_none_is_refused_in_one_line() -> None:
    with pytest.raises(
        RecipeError, match=r"^merge mark 1 names area 99, but the picture has areas 1 to 4\d;"
    ):
        kite({"kind": "merge", "at": "area 99"})
    with pytest.raises(RecipeError, match="names area 0,"):
        kite({"kind": "merge", "at": "area 0"})


def test_an_area_that_the_size_swallows_is_refused() -> None:
    speck = shapely.box(50.0, 50.0, 50.01, 50.01)
    field = shapely.box(0, 0, 400, 300) - speck
    polygons = (shapely.MultiPolygon([field]), shapely.MultiPolygon([speck]))
    traced = TracedAreas(polygons, np.array([(210, 50, 45), (31, 111, 196)], np.uint8), (400, 300))
    small = scale(traced, SizeSettings(width_mm=5))
    assert len(small.numbered) == 2
    with pytest.raises(RecipeError, match="of which this size leaves nothing"):
        placed((Mark("erase", at="area 2"),), small)


def test_every_file_of_areas_and_the_report_number_alike() -> None:
    areas = kite()
    listed = areas_report(areas)["numbered"]
    assert [row["number"] for row in listed] == list(range(1, len(areas.numbered) + 1))
    assert json.loads(areas_geojson(areas))["numbered"] == listed
    report = rs.make(KITE, store=STORE)
    assert report_mapping(report.result, {})["numbered"] == listed


def test_numbers_in_the_svg_are_a_layer_that_neither_shows_nor_cuts() -> None:
    areas = kite()
    with_numbers, without = (areas_svg(item).decode() for item in (areas, replace(areas, numbered=())))
    layer = with_numbers[with_numbers.index('<g id="numbers"') :]
    assert layer.count("<text") == len(areas.numbered)
    assert "<path" not in layer
    first, second = (
        bytes(resvg_py.svg_to_bytes(svg_string=text, zoom=3, dpi=96)) for text in (with_numbers, without)
    )
    assert first == second
