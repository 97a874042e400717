from __future__ import annotations

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import rings_of
from reliefsmith.mesh.rings import doubled_areas

from .samples import APART, box_with_holes


def test_exteriors_turn_left_and_openings_right() -> None:
    rings = rings_of(shapely.reverse(box_with_holes(2)))
    areas = doubled_areas(rings)
    assert areas[0] > 0
    assert (areas[1:] < 0).all()


@pytest.mark.parametrize("name", APART)
def test_ring_areas_sum_up_to_the_shape(name: str) -> None:
    assert doubled_areas(rings_of(APART[name])).sum() == round(2e6 * APART[name].area)


def test_following_points_close_every_ring() -> None:
    rings = rings_of(box_with_holes(1))
    assert rings.following.tolist() == [1, 2, 3, 0, 5, 6, 7, 4]


def test_repeated_points_count_once() -> None:
    assert len(rings_of(shapely.Polygon([(0, 0), (1, 0), (1, 0), (1, 1), (0, 0)])).points) == 3


def test_points_off_the_grid_are_refused() -> None:
    with pytest.raises(GeometryError, match="grid"):
        rings_of(shapely.box(0, 0, 1, 0.00051))
