"""Places given by hand, held against small drawings whose answer is plain."""

from __future__ import annotations

import pytest
import shapely
from shapely import MultiPolygon, Point, box

from reliefsmith.errors import RecipeError
from reliefsmith.polygons import enclosed, nearest_mm, on_grid, opening_at, piece_at, place_in, window_of

from .shapes import ring

EMPTY = MultiPolygon()


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (2, 2), (2, 0), (0, 3)],
        [(0, 0), (1, 1), (2, 2)],
        [(0, 0), (1e-4, 0), (0, 1e-4)],
        [(1, 1)] * 4,
    ],
    ids=["a bow tie", "a line", "nothing on the grid", "a point"],
)
def test_a_window_that_is_none_is_refused_by_its_name(corners: list[tuple[float, float]]) -> None:
    with pytest.raises(RecipeError, match="the polygon of fill mark 3 crosses itself or encloses nothing"):
        window_of(corners, "fill mark 3")


def test_a_window_lies_on_the_grid_whichever_way_its_corners_run() -> None:
    corners = [(0.00049, 0), (2.0006, 0), (2, 1)]
    window = window_of(corners, "it")
    assert on_grid(window)
    assert window.equals(shapely.Polygon([(0, 0), (2.001, 0), (2, 1)]))
    assert window.equals(window_of(corners[::-1], "it"))


def test_the_place_of_a_polygon_lies_in_it_though_its_middle_does_not() -> None:
    bow = [(0, 0), (10, 0), (10, 10), (0, 10), (1 / 7, 62 / 7), (9, 9.1), (9.1, 1), (1 / 7, 0.7)]
    assert not shapely.Polygon(bow).contains(shapely.Polygon(bow).centroid)
    place = place_in(bow)
    assert shapely.Polygon(bow).contains(Point(place))
    assert place == tuple(round(value, 3) for value in place)


def test_the_piece_that_holds_a_point_and_on_a_boundary_the_first() -> None:
    left, right = MultiPolygon([box(0, 0, 2, 2), box(8, 0, 9, 1)]), MultiPolygon([box(2, 0, 4, 2)])
    found = [piece_at([EMPTY, left, right], place) for place in [(1, 1), (8.5, 0.5), (3, 1), (2, 1), (5, 5)]]
    assert [one and (one[0], one[1].bounds) for one in found] == [
        (1, (0, 0, 2, 2)),
        (1, (8, 0, 9, 1)),
        (2, (2, 0, 4, 2)),
        (1, (0, 0, 2, 2)),
        None,
    ]


def test_openings_are_those_that_all_pieces_enclose_together() -> None:
    """Two half rings enclose what neither does alone; an island takes its place from the opening."""
    half, other = (
        MultiPolygon([ring(5, 3) - box(0, -9, 9, 9)]),
        MultiPolygon([ring(5, 3) - box(-9, -9, 0, 9)]),
    )
    assert enclosed([half]) == enclosed([other]) == enclosed([]) == []
    (opening,) = enclosed([half, other])
    assert opening.equals(box(-3, -3, 3, 3))
    island = MultiPolygon([box(-1, -1, 1, 1)])
    assert [one.area for one in enclosed([half, island, other])] == [36 - 4]


def test_each_of_nested_openings_is_one_and_islands_are_none() -> None:
    art = [MultiPolygon([ring(9, 7), ring(5, 2)])]
    assert sorted(one.area for one in enclosed(art)) == [4 * 4, 14 * 14 - 10 * 10]
    found = [opening_at(art, (x, 0)) for x in (0, 3, 6, 8, 20, 7)]  # at 7 it is on a boundary
    assert [one and one.area for one in found] == [16, None, 96, None, None, None]


def test_the_nearest_entry_and_how_far_away_it_is() -> None:
    areas = [EMPTY, MultiPolygon([box(0, 0, 1, 1)]), MultiPolygon([box(5, 0, 6, 1)]), EMPTY]
    assert nearest_mm(areas, Point(4, 4)) == (2, pytest.approx(10**0.5))
    assert nearest_mm(areas, box(-3, 0, -1, 1)) == (1, 1)
    assert nearest_mm(areas, Point(3, 0)) == (1, 2)  # both are 2 mm away
    assert nearest_mm(areas, Point(5.5, 0.5)) == (2, 0)
    assert nearest_mm([EMPTY], Point(0, 0)) is nearest_mm([], Point(0, 0)) is None
