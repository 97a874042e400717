"""Where a convex shape can lie, held against shapely; the largest size, against rooms of known ones."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely import affinity

from reliefsmith.typeset.textfit import Fit, hull_of, largest_fit, places_for, thinned

ELL = shapely.Polygon([(0, 0), (20, 0), (20, 5), (6, 5), (6, 18), (0, 18)])
HOLED = shapely.box(0, 0, 20, 12).difference(shapely.Point(13, 6).buffer(2.5))
ROOMS = {"ell": ELL, "holed": HOLED, "turned": affinity.rotate(ELL, 33)}
KITE = shapely.Polygon([(0, -2), (1.5, 0), (0, 1), (-1.5, 0)])
NEAR = 0.0051  # sizes are tried in steps of half a per cent


def _box_at(wide: float, anchor: tuple[float, float] = (0, 0)) -> Callable[[float], shapely.Polygon]:
    """A word as high as its size and so many times as wide, its lower left corner beside the anchor."""
    return lambda size: affinity.translate(shapely.box(0, 0, wide * size, size), *anchor)


@pytest.mark.parametrize("name", ROOMS)
@pytest.mark.parametrize("hull", [KITE, shapely.box(3, 3, 8, 5), affinity.rotate(KITE, 50)], ids=range(3))
def test_places_are_those_at_which_the_shape_lies_in_the_room(name: str, hull: shapely.Polygon) -> None:
    room, middle = ROOMS[name], hull.centroid
    places = places_for(room, hull)
    lattice = np.random.default_rng(7).uniform(np.array(room.bounds[:2]), np.array(room.bounds[2:]), (400, 2))
    for x, y in lattice:
        if shapely.distance(places.boundary, shapely.Point(x, y)) > 1e-6:
            there = affinity.translate(hull, x - middle.x, y - middle.y)
            assert places.contains(shapely.Point(x, y)) == room.covers(there)
    assert places.area > 0


def test_only_places_in_what_is_given_are_looked_for() -> None:
    within = shapely.box(1, 1, 5, 3)
    all_places = places_for(ELL, KITE)
    assert places_for(ELL, KITE, within).symmetric_difference(all_places.intersection(within)).area < 1e-9
    assert places_for(ELL, KITE, shapely.box(30, 30, 40, 40)).is_empty
    assert places_for(ELL, affinity.scale(KITE, 5, 5)).is_empty


@pytest.mark.parametrize("wide", [0.5, 2.0, 6.0])
@pytest.mark.parametrize("anchor", [(0.0, 0.0), (-7.0, 3.0)])
def test_in_a_box_the_largest_size_is_the_quotient_of_sides(wide: float, anchor: tuple[float, float]) -> None:
    room, exact = shapely.box(-3, 2, 17, 9), min(20 / wide, 7.0)
    hull_at = _box_at(wide, anchor)
    fit = largest_fit(room, hull_at, 1.0, 30.0)
    assert fit is not None
    assert exact * (1 - NEAR) <= fit.size_mm <= exact
    assert room.buffer(1e-6).covers(affinity.translate(hull_at(fit.size_mm), *fit.at_mm))


def test_the_ends_of_the_sizes_are_taken_and_what_lies_below_them_is_none() -> None:
    room, hull_at = shapely.box(0, 0, 20, 7), _box_at(2.0)
    most = largest_fit(room, hull_at, 1.0, 4.0)
    assert most is not None
    assert 4.0 * (1 - NEAR) <= most.size_mm <= 4.0
    assert largest_fit(room, hull_at, 6.9, 6.9) == Fit(6.9, pytest.approx((10 - 6.9, 3.5 - 3.45)))
    assert largest_fit(room, hull_at, 7.1, 30.0) is None


@pytest.mark.parametrize("slim", [0.6, 1.0, 1.4])
@pytest.mark.parametrize("name", ROOMS)
def test_no_other_place_takes_a_larger_one(name: str, slim: float) -> None:
    """The next size has no place, one that is found lies in the room."""
    room = ROOMS[name]

    def kite_at(size: float) -> shapely.Polygon:
        return affinity.scale(KITE, slim * size, size, origin=(0, 0))

    fit = largest_fit(room, kite_at, 0.5, 20.0)
    assert fit is not None
    assert room.buffer(1e-6).covers(affinity.translate(kite_at(fit.size_mm), *fit.at_mm))
    assert places_for(room, kite_at(fit.size_mm * (1 + NEAR))).is_empty


@pytest.mark.parametrize("turn", [0, 90, 200])
def test_a_room_of_its_own_shape_takes_it_in_its_own_size(turn: float) -> None:
    """A wedge, which is nowhere as high as at its blunt end."""
    wedge = affinity.rotate(shapely.Polygon([(0, 0), (3, 0), (0, 1)]), turn)
    fit = largest_fit(
        affinity.scale(wedge, 6.5, 6.5), lambda size: affinity.scale(wedge, size, size), 1.0, 20.0
    )
    assert fit is not None
    assert 6.5 * (1 - NEAR) <= fit.size_mm <= 6.5


def test_of_two_places_the_wider_is_taken() -> None:
    both = shapely.union_all([shapely.box(0, 0, 9, 4), shapely.box(9, 2, 20, 2.5), shapely.box(20, 0, 32, 4)])
    for room, x in ((both, 26), (affinity.scale(both, -1, 1, origin=(0, 0)), -26)):
        fit = largest_fit(room, lambda _: shapely.box(-1, -0.5, 1, 0.5), 3.0, 3.0)
        assert fit is not None
        assert fit.at_mm == (pytest.approx(x), pytest.approx(2))


def test_the_middle_is_where_the_shape_can_be_even_between_two_arms() -> None:
    """In a room bent round a corner the centroid of places may be none; the anchor has to be one of them."""
    bend = shapely.box(0, 0, 30, 30).difference(shapely.box(5, 5, 30, 30))
    fit = largest_fit(bend, _box_at(1.0), 3.0, 3.0)
    assert fit is not None
    assert bend.covers(affinity.translate(shapely.box(0, 0, 3, 3), *fit.at_mm))


def test_a_hull_holds_its_shape_with_few_corners_and_little_more() -> None:
    disc = shapely.Point(2, 3).buffer(4, quad_segs=500)
    shape = shapely.union(disc, shapely.box(0, 0, 1, 1))
    hull = hull_of(shape)
    assert hull.covers(disc)
    assert len(hull.exterior.coords) < len(disc.exterior.coords) / 4
    assert (
        shapely.hausdorff_distance(hull, shapely.convex_hull(shapely.union(disc, shapely.box(0, 0, 1, 1))))
        < 0.05
    )


def test_a_thinned_room_lies_in_the_room_and_loses_next_to_nothing() -> None:
    disc = shapely.Point(2, 3).buffer(4, quad_segs=500)
    (thin,) = thinned(disc)
    assert disc.covers(thin)
    assert thin.area > 0.98 * disc.area
    assert len(thin.exterior.coords) < len(disc.exterior.coords) / 4
    halves = thinned(
        shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 2, 8, 2.01)).union(shapely.box(8, 0, 12, 4))
    )
    assert len(halves) == 2  # a way of a hundredth of a millimetre is none
