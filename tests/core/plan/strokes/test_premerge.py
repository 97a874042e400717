from __future__ import annotations

import numpy as np
import pytest
import shapely

from oracles import coverage_faults
from reliefsmith.errors import GeometryError
from reliefsmith.plan.base.basecolor import base_color
from reliefsmith.plan.base.ground import Art
from reliefsmith.plan.strokes import premerge as specks
from reliefsmith.plan.strokes.premerge import without_specks

from ..arts import BLUE, RED, YELLOW, flat, outlined

PLATE = shapely.box(-15, -15, 15, 15)


def strewn(count: int, side: float, step: float = 1.0) -> shapely.MultiPolygon:
    """Return squares in rows of twenty."""
    places = [(-10 + step * (i % 20), -10 + step * (i // 20)) for i in range(count)]
    return shapely.MultiPolygon([shapely.box(x, y, x + side, y + side) for x, y in places])


def test_many_specks_go_to_what_surrounds_them_and_the_coverage_stays_one():
    large = shapely.box(11, 11, 13, 13)
    areas = flat((RED, PLATE), (BLUE, shapely.union_all([strewn(200, 0.15), large])))
    (red, blue), (made,) = without_specks(areas.polygons, 30.0)
    assert blue.equals(large)
    assert red.area == pytest.approx(30 * 30 - 4, abs=1e-9)
    assert coverage_faults([red, blue]) == ()
    assert made.message.startswith("200 specks")


def test_a_speck_between_two_colors_goes_to_the_longer_boundary_and_one_alone_is_left_out():
    halves = (RED, shapely.box(-15, -15, 0, 15)), (YELLOW, shapely.box(0, -15, 15, 15))
    between = shapely.MultiPolygon(
        [shapely.box(-0.05, y, 0.1, y + 0.15) for y in np.arange(-14.0, 14.0, 0.25)]
    )
    alone = shapely.box(20, 0, 20.1, 0.1)
    areas = flat(*halves, (BLUE, shapely.union_all([between, alone])))
    polygons, _ = without_specks(areas.polygons, 30.0)
    assert polygons[2].is_empty
    assert polygons[1].area == pytest.approx(15 * 30, abs=1e-9) or polygons[1].area > 15 * 30 - 1
    assert sum(polygon.area for polygon in polygons) == pytest.approx(30 * 30, abs=1e-9)
    assert polygons[1].bounds[0] == -0.05  # 0.1 mm of each side of a speck is yellow's, 0.05 mm red's


def test_a_few_specks_are_left_to_repair_and_so_are_islands_that_print():
    for shape in (strewn(20, 0.15), strewn(200, 0.3)):
        areas = flat((RED, PLATE), (BLUE, shape))
        polygons, notes = without_specks(areas.polygons, 30.0)
        assert not notes
        assert all(new.equals(old) for new, old in zip(polygons, areas.polygons, strict=True))


def test_far_too_intricate_art_is_refused_in_one_line(monkeypatch):
    monkeypatch.setattr(specks, "_MOST_PIECES", 100)
    with pytest.raises(
        GeometryError, match=r"201 areas with \d+ points on 30 mm, too intricate to print; use"
    ):
        outlined(flat((RED, PLATE), (BLUE, strewn(200, 0.3))))


def test_nothing_but_specks_is_refused():
    dust = shapely.MultiPolygon([shapely.box(x, 0, x + 0.1, 0.1) for x in range(150)])
    with pytest.raises(GeometryError, match="only specks"):
        outlined(flat((RED, dust)))


def test_the_base_color_of_large_art_is_that_of_the_same_art_with_fewer_points():
    ring = shapely.Point(0, 0).buffer(14) - shapely.Point(0, 0).buffer(9)
    areas = flat((RED, ring), (BLUE, shapely.Point(0, 0).buffer(8)))
    dense = [shapely.segmentize(polygon, 0.02) for polygon in areas.polygons]
    assert shapely.get_num_coordinates(dense[0]) > 4000
    base = shapely.box(-50, -50, 50, 50)
    assert base_color(Art(dense, (RED, BLUE)), base) == base_color(Art(areas.polygons, (RED, BLUE)), base)


def test_hairlines_on_the_background_are_left_out_wherever_a_drawing_cuts_them():
    lines = [shapely.box(-40, y, 40, y + 0.04) for y in (-20, -6, 2, 20)]
    blue = shapely.union_all(lines).difference(PLATE)
    areas = flat((RED, PLATE), (BLUE, blue))
    (red, rest), (said,) = without_specks(areas.polygons, 80.0)
    assert red.equals(areas.polygons[0])
    assert rest.is_empty
    assert said.message.startswith("6 pieces thinner than 0.05 mm")


@pytest.mark.parametrize(
    "shape",
    [
        shapely.box(20, -10, 20.06, 10),  # thickened by repair
        shapely.box(15, -10, 15.04, 10),  # along another area, which repair gives it to
    ],
)
def test_wider_lines_and_seams_of_areas_stay(shape):
    areas = flat((RED, PLATE), (BLUE, shape))
    polygons, notes = without_specks(areas.polygons, 30.0)
    assert not notes
    assert polygons[1].equals(areas.polygons[1])


def test_a_drawing_of_nothing_but_hairlines_is_left_to_repair():
    areas = flat((BLUE, shapely.box(0, 0, 20, 0.04)), (RED, shapely.box(0, 5, 20, 5.04)))
    polygons, notes = without_specks(areas.polygons, 20.0)
    assert not notes
    assert [polygon.is_empty for polygon in polygons] == [False, False]


def test_hairlines_that_a_mark_protects_stay():
    areas = flat((RED, PLATE), (BLUE, shapely.box(20, 0, 30, 0.04)))
    polygons, _ = without_specks(areas.polygons, 30.0, [shapely.box(19, -1, 31, 1)])
    assert not polygons[1].is_empty
