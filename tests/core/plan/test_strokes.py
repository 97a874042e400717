from __future__ import annotations

import math

import pytest
import shapely

from reliefsmith.plan.strokes import thickened
from reliefsmith.plane import opened

WIDTH = 0.6


@pytest.mark.parametrize("degrees", [10, 20, 30])
def test_the_tip_of_a_wedge_stays_where_it_is(degrees):
    half = 5 * math.tan(math.radians(degrees / 2))
    wedge = shapely.Polygon([(0, 0), (5, -half), (5, half)])
    grown = wedge.union(thickened(wedge, WIDTH))
    assert grown.bounds[0] >= -0.01
    assert grown.area > wedge.area


@pytest.mark.parametrize("corners", [3, 4, 6, 12])
def test_corners_of_regular_polygons_are_left_alone(corners):
    angles = [2 * math.pi * index / corners for index in range(corners)]
    polygon = shapely.Polygon([(5 * math.cos(a), 5 * math.sin(a)) for a in angles])
    assert thickened(polygon, WIDTH).is_empty


def test_a_stroke_as_wide_as_asked_is_left_alone():
    bar = shapely.box(0, 0, 10, WIDTH)
    assert thickened(bar, WIDTH).difference(bar.buffer(0.002)).is_empty


@pytest.mark.parametrize("turn", [0, 17, 45, 90])
def test_a_thin_bar_is_thickened_whichever_way_it_lies(turn):
    bar = shapely.affinity.rotate(shapely.box(-5, -0.1, 5, 0.1), turn, origin=(0, 0))
    grown = bar.union(thickened(bar, WIDTH))
    across = shapely.affinity.rotate(shapely.LineString([(0, -2), (0, 2)]), turn, origin=(0, 0))
    assert across.intersection(grown).length == pytest.approx(WIDTH, abs=0.01)
    assert grown.area - opened(grown, WIDTH / 2 - 0.01).area < 0.01 * grown.area


def test_only_places_in_the_zone_are_thickened():
    bars = shapely.MultiPolygon([shapely.box(0, 0, 10, 0.3), shapely.box(0, 5, 10, 5.3)])
    discs = thickened(bars, WIDTH, zone=shapely.box(0, 4, 10, 6))
    assert discs.bounds[1] > 4


def test_nothing_is_asked_of_an_empty_area_or_a_width_of_zero():
    assert thickened(shapely.Polygon(), WIDTH).is_empty
    assert thickened(shapely.box(0, 0, 9, 0.1), 0.0).is_empty
