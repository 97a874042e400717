from __future__ import annotations

import pytest
import shapely

from reliefsmith.polygons import as_multi, inscribed, openings, polygons_of, without, without_openings

from .shapes import ZOO, ring


def test_lines_and_points_are_no_pieces():
    mixed = shapely.GeometryCollection(
        [shapely.Point(0, 0), shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(2, 2, 3, 3)])]
    )
    assert [piece.area for piece in polygons_of(mixed)] == [1, 1]
    assert as_multi([shapely.Point(0, 0)]).is_empty


def test_an_island_in_an_opening_is_swallowed_when_openings_are_filled():
    filled = without_openings(ZOO["island in a frame"])
    assert len(filled.geoms) == 1
    assert filled.area == 256


def test_openings_are_polygons_of_their_own():
    assert [opening.area for opening in openings(ring(5, 2))] == [16]
    assert openings(ZOO["empty"]) == []


def test_the_disc_in_a_ring_fits_between_its_walls():
    found = inscribed(ring(5, 2))
    # Between outer corner and inner corner lie 3 sqrt(2); tangent to two outer sides and one inner corner:
    # 5 - r at distance r sqrt(2)... solved: r = 3 sqrt(2) / (1 + sqrt(2)).
    assert found.radius == pytest.approx(3 * 2**0.5 / (1 + 2**0.5), abs=0.005)


@pytest.mark.parametrize("name", list(ZOO))
def test_what_lies_outside_another_shape_and_what_lies_in_both_make_the_whole(name):
    shape, other = ZOO[name], shapely.box(1, 1, 6, 3)
    left = without(shape, other)
    assert left.intersection(other).area == pytest.approx(0, abs=1e-9)
    assert left.area == pytest.approx(shape.area - shape.intersection(other).area)
    assert without(shape, shapely.Polygon()).equals(as_multi(shape)) or shape.is_empty
