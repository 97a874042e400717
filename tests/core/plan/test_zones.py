"""What marks mean: a piece of one color, an opening, or all within a polygon."""

from __future__ import annotations

import numpy as np
import shapely

from reliefsmith.findings import Finding
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.plan.strokes.partition import GROUND, Sheet
from reliefsmith.plan.zones import Zone, openings_in, spared, unchanged, without_motifs, zone_of_art, zones_on
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.tables import Mark

RED, BLUE = (200, 30, 40), (20, 60, 200)
OPENING = shapely.box(4, 4, 8, 8)
PLATE = as_multi(shapely.box(-20, -20, 20, 20).difference(shapely.box(-10, -10, 0, 0)).difference(OPENING))
PATCH = as_multi(shapely.box(-10, -10, 0, 0))
AREAS = [PLATE, PATCH]
FRAME = Frame(0.1, (0.0, 0.0), 0.0, (400, 400))
FLAT = FlatAreas(tuple(AREAS), np.array([RED, BLUE], np.uint8), FRAME, (40.0, 40.0))


def zone(mark: Mark) -> Zone:
    found = zone_of_art(AREAS, "marks[0]", mark)
    assert isinstance(found, Zone)
    return found


def test_a_point_means_the_area_or_the_opening_round_it() -> None:
    patch = zone(Mark("protect", at_mm=(-5, -5)))
    assert (patch.number, patch.shape.area, patch.at_mm) == (1, 100.0, (-5, -5))
    assert patch.size_mm == 14.14
    opening = zone(Mark("protect", at_mm=(6, 6)))
    assert (opening.number, opening.shape.area) == (GROUND, 16.0)


def test_a_polygon_means_all_within_it() -> None:
    found = zone(Mark("protect", polygon_mm=((-5, -5), (5, -5), (5, 5), (-5, 5))))
    assert found.number is None
    assert found.shape.area == 100.0
    assert found.shape.contains(shapely.Point(found.at_mm))


def test_a_point_beside_the_art_finds_nothing_and_is_told_how_far_it_lies() -> None:
    found = zone_of_art(AREAS, "marks[0]", Mark("protect", at_mm=(23.0, 0.0)))
    assert isinstance(found, Finding)
    assert found.message == "marks[0] finds no area at (23.00, 0.00) mm; the nearest is 3.00 mm away"
    empty = zone_of_art([], "marks[0]", Mark("protect", at_mm=(1.0, 0.0)))
    assert isinstance(empty, Finding)
    assert empty.message == "marks[0] finds no area at (1.00, 0.00) mm"


def on_sheet(
    mark: Mark, base_color: tuple[int, int, int] = RED, patch: shapely.MultiPolygon = PATCH
) -> tuple:
    frame = shapely.box(-40, -40, 40, 40)
    sheet = Sheet((patch,), as_multi(frame.difference(patch)), frame)
    zones, findings = zones_on(sheet, FLAT, base_color, [mark])
    return [(item.number, round(item.shape.area, 6)) for item in zones], [item.message for item in findings]


def test_on_a_sheet_a_point_means_a_motif_or_the_ground() -> None:
    assert on_sheet(Mark("protect", at_mm=(-5, -5))) == ([(0, 100.0)], [])
    assert on_sheet(Mark("protect", at_mm=(15, 15))) == ([(GROUND, PLATE.area)], [])
    assert on_sheet(Mark("protect", at_mm=(6, 6))) == ([(GROUND, 16.0)], [])
    corners = ((-5, -5), (5, -5), (5, 5), (-5, 5))
    assert on_sheet(Mark("protect", polygon_mm=corners)) == ([(None, 100.0)], [])


def test_on_a_sheet_a_speck_that_was_merged_away_is_told() -> None:
    zones, findings = on_sheet(Mark("protect", at_mm=(-5, -5)), patch=as_multi(shapely.box(-10, -10, -9, -9)))
    assert zones == []
    assert len(findings) == 1
    assert "was merged into its neighbor" in findings[0]


def test_on_a_sheet_a_point_in_nothing_is_told() -> None:
    zones, findings = on_sheet(Mark("protect", at_mm=(30, 30)))
    assert zones == []
    assert "finds no area" in findings[0]


def test_where_no_motif_stands_protect_alone_keeps_something() -> None:
    marks = [
        Mark("protect", at_mm=(-5, -5)),
        Mark("leave-thin", at_mm=(6, 6)),
        Mark("protect", at_mm=(40, 0)),
    ]
    notes, findings = without_motifs(AREAS, marks)
    assert [item.at_mm for item in notes] == [(-5, -5)]
    assert len(findings) == 2
    assert "finds no area" in findings[0].message
    assert "finds no motif" in findings[1].message


def test_only_protect_spares_and_only_where_it_finds_something() -> None:
    marks = [
        Mark("protect", at_mm=(-5, -5)),
        Mark("leave-thin", at_mm=(6, 6)),
        Mark("protect", at_mm=(40, 0)),
    ]
    assert [item.shape.area for item in spared(AREAS, marks)] == [100.0]


def test_openings_that_lie_whole_in_zones_are_found() -> None:
    around = zone(Mark("protect", polygon_mm=((3, 3), (9, 3), (9, 9), (3, 9))))
    across = zone(Mark("protect", polygon_mm=((3, 3), (6, 3), (6, 9), (3, 9))))
    assert openings_in(AREAS, [around]).area == 16.0
    assert openings_in(AREAS, [across]).area == 0.0
    assert openings_in(AREAS, []).is_empty


def test_a_widened_base_is_as_before_within_zones_and_keeps_nothing_apart() -> None:
    base, wide = shapely.box(0, 0, 10, 10), as_multi(shapely.box(-2, -2, 12, 12))
    found = zone(Mark("protect", polygon_mm=((9, 4), (11, 4), (11, 6), (9, 6))))
    assert unchanged(wide, base, [found]).area == 14 * 14 - 2
    assert unchanged(wide, base, []) == wide
    ring = zone(Mark("protect", polygon_mm=((10, -3), (11, -3), (11, 13), (10, 13))))
    left = unchanged(wide, base, [ring])  # the strip beyond the zone hangs on nothing
    assert left.bounds == (-2.0, -2.0, 10.0, 12.0)
